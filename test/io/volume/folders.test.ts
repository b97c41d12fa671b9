import { mkdirSync, renameSync } from 'node:fs';
import { join } from 'node:path';
import { describe } from 'vitest';
import { openVolume } from '../../../src/io/volume/open-volume.ts';
import { makeScratch } from '../../fixtures/volumes/scratch.ts';
import type { Traits } from './conformance/stand.ts';
import { describeConformance } from './conformance.ts';

const traits: Traits = {
  ignoresCase: process.platform !== 'linux',
  keepsOrder: false,
  refusesFatNames: process.platform === 'win32',
  vanishes: true,
  fills: false, // it is the drive that the tests run on
};

describe('a folder of this computer', () => {
  describeConformance('as a stick', traits, async () => {
    const scratch = makeScratch();
    const folder = join(scratch.path, 'stick folder');
    mkdirSync(folder);
    return {
      open: (access) => openVolume(folder, access),
      // What a pulled stick leaves behind: an empty folder in its place.
      vanish: () => {
        renameSync(folder, `${folder} pulled`);
        mkdirSync(folder);
      },
      undo: scratch.undo,
    };
  });
});
