import { describe, expect, it } from 'vitest';
import { compareDrives } from '../../../../src/core/checks/stick/compare-drives.ts';
import { judged, recordedDrive, withVolume } from '../../../fixtures/drives.ts';

const stick = recordedDrive('/dev/sda');
const other = judged(recordedDrive('/dev/sdb'));
const now = judged(stick);

const told = (before: Parameters<typeof compareDrives>[0], after: Parameters<typeof compareDrives>[1]) =>
  compareDrives(before, after).map(({ kind, of, device, changed }) => [kind, of, device, ...changed].join(' '));

describe('two lists of drives', () => {
  it('that are alike tell nothing, also where files were copied in between', () => {
    expect(told([now, other], [now, other])).toEqual([]);
    expect(told([now], [judged(withVolume(stick, { freeBytes: 5 }))])).toEqual([]);
  });

  it('tell what went before what came', () => {
    expect(told([now], [other])).toEqual(['went drive /dev/sda', 'came drive /dev/sdb']);
  });

  it('tell another stick at the same name as another stick', () => {
    expect(told([now], [judged({ ...stick, serial: 'AA0009' })])).toEqual([
      'went drive /dev/sda',
      'came drive /dev/sda',
    ]);
  });

  it('tell a stick whose serial number is told a moment later as the same one', () => {
    const early = judged({ ...stick, serial: undefined, maker: undefined });
    expect(told([early], [now])).toEqual(['changed drive /dev/sda maker serial']);
    expect(told([early], [judged({ ...stick, model: 'Other' })])).toEqual([
      'went drive /dev/sda',
      'came drive /dev/sda',
    ]);
  });

  it('tell of volumes that come, go and change on a drive that stays', () => {
    const bare = judged({ ...stick, volumes: [] });
    expect(told([bare], [now])).toEqual(['came volume /dev/sda1']);
    expect(told([now], [bare])).toEqual(['went volume /dev/sda1']);
    const pulled = judged(withVolume(stick, { mountPoints: [], label: 'NEW' }));
    expect(told([now], [pulled])).toEqual(['changed volume /dev/sda1 label mountPoints']);
  });

  it('tell a stick that comes back in another place as gone and come', () => {
    expect(told([now], [{ ...now, device: '/dev/sdx' }])).toEqual(['went drive /dev/sda', 'came drive /dev/sdx']);
  });

  it('tell of the one volume of several that came, went or changed, with the drive as it was and is', () => {
    const [first] = stick.volumes;
    if (first === undefined) throw new Error('it has a volume');
    const two = judged({ ...stick, volumes: [first, { ...first, device: '/dev/sda2' }] });
    const other = judged({ ...stick, volumes: [first, { ...first, device: '/dev/sda2', label: 'NEW' }] });
    expect(told([two], [other])).toEqual(['changed volume /dev/sda2 label']);
    expect(compareDrives([now], [two])).toEqual([
      {
        ...{ kind: 'came', of: 'volume', device: '/dev/sda2', drive: '/dev/sda' },
        ...{ before: now, after: two, changed: [] },
      },
    ]);
    const drive = { of: 'drive', device: '/dev/sda', drive: '/dev/sda', changed: [] };
    expect(compareDrives([now], [])).toEqual([{ ...drive, kind: 'went', before: now, after: undefined }]);
    expect(compareDrives([], [now])).toEqual([{ ...drive, kind: 'came', before: undefined, after: now }]);
  });

  it('tell of a drive that changes as a whole', () => {
    const changed = judged({ ...stick, readOnly: true, partitionTable: 'gpt' });
    expect(told([now], [changed])).toEqual(['changed drive /dev/sda readOnly partitionTable']);
  });
});
