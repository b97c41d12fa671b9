import { describe } from 'vitest';
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
import { itWithout, missingPrograms } from '../../outside/needs.ts';
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
