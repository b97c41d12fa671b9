import { describe, expect, it } from 'vitest';
import { judgeDrive } from '../../../../src/core/checks/stick/judge-drive.ts';
import { customaryRules } from '../../../../src/core/model/customary-rules.ts';
import type { Drive } from '../../../../src/core/model/drive.ts';
import type { Family } from '../../../../src/core/model/family.ts';
import { recordedDrive, withVolume } from '../../../fixtures/drives.ts';

// FAT32 behind an MBR for boot loaders, exFAT too for a running OS, one partition: common practice, no source.
const good = recordedDrive('/dev/sda');

/** `in-os` and `recovery`: the answer, and the code of the one reason. */
const answers = (drive: Drive, families: readonly Family[] = []): readonly string[] =>
  judgeDrive(drive, families).map(({ answer, reason }) => (reason === undefined ? answer : `${answer} ${reason.code}`));

const family = (name: string, modes: Family['modes']): Family => ({ family: name, modes }) as Family;

describe('a drive, by the customary rules', { tags: ['only-the-stick'] }, () => {
  it('would do in both modes as FAT32 behind an MBR', () => {
    expect(answers(good)).toEqual(['yes', 'yes']);
    expect(judgeDrive(good, [])).toMatchObject([
      { mode: 'in-os', family: undefined, volume: '/dev/sda1' },
      { mode: 'recovery', family: undefined, volume: '/dev/sda1' },
    ]);
  });

  it.each<[string, Drive, readonly string[]]>([
    ['exFAT', withVolume(good, { fileSystem: 'exfat' }), ['yes', 'no stick/file-system-not-taken']],
    [
      'NTFS',
      withVolume(good, { fileSystem: 'ntfs' }),
      ['no stick/file-system-not-taken', 'no stick/file-system-not-taken'],
    ],
    ['a GPT', { ...good, partitionTable: 'gpt' }, ['yes', 'no stick/partition-table-not-taken']],
    ['no table', { ...good, partitionTable: 'none' }, ['yes', 'no stick/partition-table-not-taken']],
    ['large clusters', withVolume(good, { clusterBytes: 131_072 }), ['yes', 'no stick/cluster-too-large']],
    ['large sectors', withVolume(good, { sectorBytes: 4096 }), ['yes', 'no stick/sectors-too-large']],
    ['a lock', { ...good, readOnly: true }, ['no stick/read-only', 'no stick/read-only']],
    ['a volume that is locked', withVolume(good, { readOnly: true }), ['no stick/read-only', 'no stick/read-only']],
    [
      'no way to pull it',
      { ...good, removable: false },
      ['no stick/not-a-removable-drive', 'no stick/not-a-removable-drive'],
    ],
    ['64 GB', { ...good, bytes: 64e9 }, ['yes', 'yes stick/large-for-a-boot-loader']],
    ['a lock, a large size and no table', recordedDrive('/dev/sdb'), ['no stick/read-only', 'no stick/read-only']],
  ])('with %s', (_, drive, expected) => {
    expect(answers(drive)).toEqual(expected);
  });

  it.each<[string, Drive, readonly string[]]>([
    [
      'file system',
      withVolume(good, { fileSystem: 'unknown' }),
      ['unknown stick/file-system-unknown', 'unknown stick/file-system-unknown'],
    ],
    ['partition table', { ...good, partitionTable: 'unknown' }, ['yes', 'unknown stick/partition-table-unknown']],
    ['volumes', { ...good, volumes: [] }, ['unknown drive/no-volume-seen', 'unknown drive/no-volume-seen']],
    ['sizes and locks, which do not matter here', { ...good, bytes: undefined, readOnly: undefined }, ['yes', 'yes']],
    [
      'way of being pulled',
      { ...good, removable: undefined, refusedBecause: 'the operating system does not say that it is removable' },
      ['unknown drive/refused', 'unknown drive/refused'],
    ],
  ])('whose %s the operating system does not tell is unknown where that matters, never a no', (_, drive, expected) => {
    expect(answers(drive)).toEqual(expected);
  });

  it('whose bus nobody tells is not on USB: that is a no', () => {
    const refusedBecause = 'the operating system does not say that it is on the USB bus';
    for (const removable of [true, false, undefined])
      expect(answers({ ...good, usb: undefined, removable, refusedBecause })).toEqual([
        'no drive/refused',
        'no drive/refused',
      ]);
  });

  it('that is needed by the computer is a no, whether or not it may be pulled', () => {
    const { holds: _, ...rest } = { ...good, removable: undefined, refusedBecause: 'nobody says that it is removable' };
    const needed: readonly Partial<Drive>[] = [{ holdsSystem: true }, { holds: ['swap'] }];
    expect(answers(rest)).toEqual(['unknown drive/refused', 'unknown drive/refused']);
    for (const more of needed) expect(answers({ ...rest, ...more })).toEqual(['no drive/refused', 'no drive/refused']);
  });

  it('is named by its volume, where it has one', () => {
    const subjects = (drive: Drive) => judgeDrive(drive, []).map(({ reason }) => reason?.subject);
    expect(subjects(withVolume(good, { fileSystem: 'ntfs' }))).toEqual(['/dev/sda1', '/dev/sda1']);
    expect(subjects({ ...good, volumes: [] })).toEqual(['/dev/sda', '/dev/sda']);
  });

  it('says no where one thing is wrong and another is not told', () => {
    const drive = withVolume({ ...good, partitionTable: 'unknown' }, { fileSystem: 'ntfs' });
    expect(answers(drive)[1]).toBe('no stick/file-system-not-taken');
  });

  it('of several volumes is no stick in either mode: which one a panel takes is chance', () => {
    const [first] = good.volumes;
    if (first === undefined) throw new Error('no volume');
    const volumes = [
      { ...first, fileSystem: 'ext' as const },
      { ...first, device: '/dev/sda2' },
    ];
    const [inOs, recovery] = judgeDrive({ ...good, volumes }, []);
    expect(inOs).toMatchObject({ answer: 'no', volume: '/dev/sda1' });
    expect(
      judgeDrive({ ...good, volumes: [first, { ...first, device: '/dev/sda2' }] }, []).map(
        ({ reason }) => reason?.code,
      ),
    ).toEqual(['stick/several-volumes', 'stick/several-volumes']);
    expect(recovery?.answer).toBe('no');
  });

  it.each(['/dev/nvme0n1', '/dev/sdc', '/dev/sdd', '/dev/loop0'])(
    'that is never written (%s) would not do',
    (device) => {
      const drive = recordedDrive(device);
      expect(answers(drive)).toEqual(['no drive/refused', 'no drive/refused']);
      expect(judgeDrive(drive, [])[0]?.reason?.facts).toEqual({ because: drive.refusedBecause });
    },
  );
});

describe('a drive, by the rules of families', () => {
  const small = family('small', { recovery: { ...customaryRules('recovery'), 'largest-stick': '16 GB' } });
  const wide = family('wide', {
    'in-os': { ...customaryRules('in-os'), 'file-systems': ['ntfs'] },
    recovery: { ...customaryRules('recovery'), 'partition-table': ['gpt', 'mbr'] },
  });

  it('is judged for each family that is updated in a mode', () => {
    const told = judgeDrive(good, [small, wide]).map(({ mode, family: name, answer }) => [mode, name, answer]);
    expect(told).toEqual([
      ['in-os', 'wide', 'no'],
      ['recovery', 'small', 'no'],
      ['recovery', 'wide', 'yes'],
    ]);
  });

  it('is large enough to be asked about only where nobody tells its size', () => {
    expect(answers({ ...good, bytes: 8e9 }, [small])).toEqual(['yes']);
    const untold = withVolume({ ...good, bytes: undefined }, { bytes: 8e9 });
    expect(answers(untold, [small])).toEqual(['unknown drive/size-unknown']);
  });

  it('names the size before what formatting could mend', () => {
    expect(answers(withVolume(good, { fileSystem: 'ntfs' }), [small])).toEqual([
      'no stick/larger-than-the-panel-takes',
    ]);
  });

  it('is unknown where a family has a limit and nobody tells the size', () => {
    // its volume is
    expect(answers({ ...good, bytes: undefined }, [small])).toEqual(['no stick/larger-than-the-panel-takes']);
    const silent = withVolume({ ...good, bytes: undefined }, { bytes: undefined });
    expect(answers(silent, [small])).toEqual(['unknown drive/size-unknown']);
  });
});
