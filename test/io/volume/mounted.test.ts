import { closeSync, openSync, writeSync } from 'node:fs';
import { join } from 'node:path';
import { setTimeout as wait } from 'node:timers/promises';
import { describe, expect } from 'vitest';
import { openVolume } from '../../../src/io/volume/open-volume.ts';
import {
  canMount,
  type MountedKind,
  mountAsCut,
  mountVolume,
  programsFor,
  unmount,
} from '../../fixtures/volumes/mounts.ts';
import { makeScratch } from '../../fixtures/volumes/scratch.ts';
import { itWithout, missingPrograms, needs } from '../../outside/needs.ts';
import type { Traits } from './conformance/stand.ts';
import { describeConformance } from './conformance.ts';

const linux: Traits = {
  ignoresCase: false,
  keepsOrder: false,
  refusesFatNames: false,
  vanishes: true,
  fills: true,
};

/** Volumes of other systems, through drivers in user space. */
const fuse: Traits = { ...linux, refusesFatNames: true };

const kinds: readonly { kind: MountedKind; mebibytes: number; traits: Traits }[] = [
  { kind: 'ext4', mebibytes: 16, traits: { ...linux, cuts: true } },
  { kind: 'tmpfs', mebibytes: 16, traits: linux },
  { kind: 'exfat', mebibytes: 16, traits: { ...fuse, ignoresCase: true, cuts: true } },
  { kind: 'ntfs', mebibytes: 16, traits: { ...fuse, cuts: true } },
];

describe('a mounted volume', () => {
  for (const { kind, mebibytes, traits } of kinds) {
    const missing = canMount ? missingPrograms(programsFor[kind]) : 'the right to mount (run as root)';
    if (missing !== '') {
      itWithout(missing)(kind);
      continue;
    }
    describeConformance(kind, traits, async () => {
      const scratch = makeScratch();
      const point = mountVolume(scratch, kind, mebibytes);
      return {
        open: (access) => openVolume(point, access),
        vanish: () => unmount(point),
        ...(kind === 'ext4' || kind === 'exfat' || kind === 'ntfs'
          ? { cut: () => openVolume(mountAsCut(scratch, kind), 'read') }
          : {}),
        undo: scratch.undo,
      };
    });
  }
});

/** As somebody's film does. */
function fillUp(path: string): void {
  const file = openSync(path, 'wx');
  try {
    for (;;) writeSync(file, Buffer.alloc(65_536));
  } catch (error) {
    expect(error).toMatchObject({ code: 'ENOSPC' });
  } finally {
    closeSync(file);
  }
}

const mounting = canMount ? needs(programsFor.tmpfs) : itWithout('the right to mount (run as root)');

// The block that was on its way failed after the last word about it, and before the next one.
mounting(
  'a write that fails between two calls is told when the file is closed',
  { tags: ['never-half-a-file'] },
  async () => {
    const scratch = makeScratch();
    try {
      const point = mountVolume(scratch, 'tmpfs', 8);
      const volume = await openVolume(point, 'write');
      const writer = await volume.create('big.bin', 3 * 2 ** 20);
      fillUp(join(point, 'film.mp4'));
      await writer.write(Buffer.alloc(2 ** 20, 1));
      await wait(200); // whether it has failed by then or not: it is told
      await expect(writer.close()).rejects.toMatchObject({ code: 'stick/full' });
      await volume.close();
    } finally {
      scratch.undo();
    }
  },
);
