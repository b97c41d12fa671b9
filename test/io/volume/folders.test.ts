import { mkdirSync, renameSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { describe, expect, test } from 'vitest';
import { listFolder } from '../../../src/io/volume/folder/list-folder.ts';
import { openVolume } from '../../../src/io/volume/open-volume.ts';
import { mostEntries } from '../../../src/io/volume/os-error.ts';
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

  test('with more files than any stick for panels is refused, and not for wear', {
    tags: ['archive-read-once'],
  }, async () => {
    const scratch = makeScratch();
    try {
      mkdirSync(join(scratch.path, 'full'));
      for (let at = 0; at < 9; at++) writeFileSync(join(scratch.path, `full/${at}`), '');
      expect(mostEntries).toBe(100_000);
      expect(await listFolder(scratch.path, '', () => false, { most: 10 })).toHaveLength(10);
      for (const most of [9, 5])
        await expect(listFolder(scratch.path, '', () => false, { most })).rejects.toMatchObject({
          code: 'stick/refused',
        });
    } finally {
      scratch.undo();
    }
  });
});
