import { describe, expect, it } from 'vitest';
import type { Drive } from '../../../src/core/model/drive.ts';
import { chosenOf, doubtOf } from '../../../src/core/report/name-targets.ts';

const stick: Drive = {
  device: '/dev/sdz',
  maker: 'Slate',
  model: 'Drive',
  serial: 'SL-0042',
  bytes: 16e9,
  removable: true,
  usb: true,
  holdsSystem: false,
  readOnly: false,
  port: undefined,
  partitionTable: 'mbr',
  volumes: [],
  refusedBecause: undefined,
};
const opened: Drive['volumes'] = [
  {
    device: '/dev/sdz1',
    mountPoints: ['/media/card'],
    fileSystem: 'fat32',
    label: undefined,
    bytes: 16e9,
    freeBytes: undefined,
    clusterBytes: undefined,
    sectorBytes: undefined,
    readOnly: false,
  },
];
const why = 'it is a fixed drive';
const card: Drive = { ...stick, usb: undefined, refusedBecause: why, volumes: opened };

describe('what a window may name of a drive', { tags: ['only-the-stick'] }, () => {
  it('is a stick itself, and of a card the folder that it is opened as', () => {
    expect(chosenOf(stick)).toEqual({ target: '/dev/sdz' });
    expect(chosenOf(card)).toEqual({ target: '/media/card' });
    expect(chosenOf({ ...card, usb: true, removable: false })).toEqual({ target: '/media/card' });
    expect([stick, card].map(doubtOf)).toEqual([undefined, why]);
  });

  it('is nothing of a card that no system opened: it is never written as a whole', () => {
    const reason = `${why}, and such a drive is used only where it is opened as a folder`;
    expect(chosenOf({ ...card, volumes: [] })).toEqual({ reason });
  });

  it('is nothing of a disk of the computer, of what holds something in use, nor of what has no size to be typed', () => {
    const others: readonly Partial<Drive>[] = [
      { usb: false, removable: false },
      { usb: undefined, removable: undefined },
      { holdsSystem: true },
      { holds: ['the shelf'] },
      { bytes: 0 },
      { bytes: undefined },
      { usb: true, removable: true },
    ];
    for (const one of others) {
      expect(doubtOf({ ...card, ...one }), JSON.stringify(one)).toBeUndefined();
      expect(chosenOf({ ...card, ...one }), JSON.stringify(one)).toEqual({ reason: why });
    }
    expect(chosenOf({ ...card, readOnly: true })).toEqual({ reason: 'it cannot be written' });
  });
});
