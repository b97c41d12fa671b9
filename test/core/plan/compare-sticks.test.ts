import { describe, expect, it } from 'vitest';
import { setAsideFolder } from '../../../src/core/manifest/stick-names.ts';
import type { StickEntry, StickFacts } from '../../../src/core/model/stick-facts.ts';
import { findDifference, isMountGone } from '../../../src/core/plan/compare-sticks.ts';
import { imageBytesFor } from '../../../src/core/plan/space-after.ts';

const drive = {
  device: '/dev/sdb',
  maker: 'invented',
  model: 'stick',
  serial: 'A1',
  bytes: 1e9,
  removable: true,
  usb: true,
  holdsSystem: false,
  readOnly: false,
};
const facts: StickFacts = {
  target: 'E:',
  kind: 'folder',
  fileSystem: 'fat32',
  fileSystemFrom: 'operating-system',
  partitionTable: 'mbr',
  partitions: [],
  otherVolumes: { from: 'sectors', volumes: [] },
  mediumBytes: 1e9,
  volumeBytes: 1e9,
  freeBytes: 9e8,
  clusterBytes: 4096,
  sectorBytes: 512,
  rootSlotsFree: undefined,
  volumeLabel: undefined,
  volumeSerial: '1234-ABCD',
  readOnly: false,
  dirty: false,
  drive,
};
const entries: readonly StickEntry[] = [
  { path: 'a', kind: 'folder', bytes: 0 },
  { path: 'a/b.txt', kind: 'file', bytes: 3 },
];

describe('the stick that was planned for', () => {
  it('is the same where only its free space or the time of looking differs', () => {
    expect(findDifference({ facts, entries }, { facts: { ...facts, freeBytes: 1 }, entries })).toBeUndefined();
    expect(findDifference({ facts, entries }, { facts, entries: entries.toReversed() })).toBeUndefined();
  });

  it('is another one by anything that tells sticks apart', () => {
    const others: readonly Partial<StickFacts>[] = [
      { volumeSerial: '1234-ABCE' },
      { volumeBytes: 2e9 },
      { mediumBytes: 2e9 },
      { clusterBytes: 8192 },
      { fileSystem: 'exfat' },
      { partitionTable: 'gpt' },
      { drive: { ...drive, serial: 'A2' } },
      { drive: { ...drive, device: '/dev/sdc' } },
    ];
    for (const other of others)
      expect(findDifference({ facts, entries }, { facts: { ...facts, ...other }, entries })).toMatch(/ was .+ and is /);
  });

  it('is not another one because the system could not tell this time, or tells more now', {
    tags: ['nobody-else'],
  }, () => {
    const silent: StickFacts = {
      ...facts,
      fileSystem: 'unknown',
      partitionTable: 'unknown',
      mediumBytes: undefined,
      clusterBytes: undefined,
      volumeSerial: undefined,
      volumeLabel: undefined,
      drive: undefined,
    };
    const named = { ...facts, volumeLabel: 'STICK', drive: { ...drive, serial: undefined } };
    for (const [before, now] of [
      [facts, silent],
      [silent, facts],
      [named, facts],
      [{ ...facts, drive: { ...drive, serial: undefined } }, facts],
      [facts, { ...facts, drive: { ...drive, serial: undefined } }],
    ] as const)
      expect(findDifference({ facts: before, entries }, { facts: now, entries })).toBeUndefined();
  });

  it('is another one where its own boot sector says so, also by silence', () => {
    const read = { ...facts, fileSystemFrom: 'boot-sector' as const };
    for (const other of [{ volumeLabel: 'OTHER' }, { volumeSerial: undefined }])
      expect(findDifference({ facts: read, entries }, { facts: { ...read, ...other }, entries })).toMatch(/ was /);
  });

  it('says what was and what is', () => {
    const read = { ...facts, fileSystemFrom: 'boot-sector' as const };
    const told = (before: Partial<StickFacts>, now: Partial<StickFacts>) =>
      findDifference({ facts: { ...read, ...before }, entries }, { facts: { ...read, ...now }, entries });
    expect(told({}, { fileSystem: 'exfat' })).toBe('its file system was fat32 and is exfat');
    expect(told({}, { volumeLabel: 'OTHER' })).toBe('its volume name was none and is OTHER');
    expect(told({}, { volumeSerial: undefined })).toBe('its volume serial was 1234-ABCD and is none');
    expect(told({}, { partitionTable: 'gpt' })).toBe('its partition table was mbr and is gpt');
    expect(told({}, { mediumBytes: 7 })).toBe('its size in bytes was 1000000000 and is 7');
    expect(told({}, { volumeBytes: 7 })).toBe("its volume's size in bytes was 1000000000 and is 7");
    expect(told({}, { clusterBytes: 512 })).toBe('its cluster size was 4096 and is 512');
    expect(told({}, { drive: { ...drive, device: '/dev/sdc', serial: undefined } })).toBe(
      'the drive was /dev/sdb, serial A1 and is /dev/sdc, serial unknown',
    );
    // A boot sector knows nothing of the medium around it, nor does one look speak for the other.
    expect(told({}, { mediumBytes: undefined })).toBeUndefined();
    expect(told({ partitionTable: 'unknown' }, {})).toBeUndefined();
    const byOthers = { fileSystemFrom: 'operating-system' as const, volumeLabel: 'OTHER' };
    expect([told({}, byOthers), told(byOthers, {})]).toEqual([undefined, undefined]);
  });

  it('is gone where something else is mounted in its place, and not where nobody tells', () => {
    const mounted = { ...facts, mountPoint: '/media/stick' };
    expect(isMountGone(mounted, { ...facts, mountPoint: '/' })).toBe(true);
    expect(isMountGone(mounted, mounted)).toBe(false);
    expect(isMountGone(mounted, facts)).toBe(false);
    expect(isMountGone(facts, mounted)).toBe(false);
  });

  it('has changed where a file came, went or grew', () => {
    const [folder = entries[0] as StickEntry] = entries;
    for (const now of [
      [folder],
      [...entries, { path: 'new.txt', kind: 'file', bytes: 0 } as const],
      [folder, { path: 'a/b.txt', kind: 'file', bytes: 4 } as const],
    ])
      expect(findDifference({ facts, entries }, { facts, entries: now })).toMatch(/(a\/b|new)\.txt has changed/);
  });
});

it('an image is a whole number of MiB, at least what FAT32 needs, and more than what goes into it', () => {
  const file = (bytes: number) => ({ path: 'a', bytes, origin: { from: 'archive' } as const });
  for (const bytes of [0, 1, 2 ** 20, 70_000_001, 2 ** 32 - 1]) {
    const image = imageBytesFor({ files: [file(bytes)], folders: [] });
    expect(image % 2 ** 20).toBe(0);
    expect(image).toBeGreaterThanOrEqual(64 * 2 ** 20);
    expect(image).toBeGreaterThan(bytes + 2 ** 20);
  }
});

it('a set-aside folder never takes a name that is there, in whatever case', () => {
  const at = '2026-11-02T07:30:00.000Z';
  expect(setAsideFolder(at, new Set())).toBe('set-aside-20261102T073000Z');
  expect(setAsideFolder(at, new Set(['SET-ASIDE-20261102T073000Z']))).toBe('set-aside-20261102T073000Z-2');
});
