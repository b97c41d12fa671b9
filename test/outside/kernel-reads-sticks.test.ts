import { readFileSync } from 'node:fs';
import { join } from 'node:path';
import { afterAll, describe, expect, test } from 'vitest';
import { makeArchive, packageName, sha256 } from '../fixtures/desk.ts';
import { readInKernel } from '../fixtures/kernel/read-in-kernel.ts';
import { kernelPrograms, startsInGate } from '../fixtures/kernel/start-kernel.ts';
import { mtools } from '../fixtures/volumes/mtools.ts';
import { makeFatImage, makeScratch } from '../fixtures/volumes/scratch.ts';
import { needs } from './needs.ts';

const scratch = makeScratch();
afterAll(() => scratch.undo());

const mebibyte = 2 ** 20;
const volumeOf = (name: string, kind: 'fat16' | 'fat32', mebibytes: number) =>
  makeFatImage(join(scratch.path, name), mebibytes * mebibyte, { kind, clusterBytes: 512 });

const stated = (bytes: Buffer) => ({ bytes: bytes.length, stated: bytes.length, sha256: sha256(bytes) });

test('the gate starts a kernel ten times at most', () => {
  const all = Object.values(startsInGate).reduce((sum, starts) => sum + starts, 0);
  expect(all).toBeLessThanOrEqual(10);
});

// Linux's own vfat, as user-mode Linux: every Linux desk and most panels read a stick with it.
describe("the kernel's vfat", () => {
  needs({ ...kernelPrograms, mcopy: 'mtools' })(
    'reads many variants of several volumes in one start: names, sizes and contents',
    { tags: ['read-alike-by-all'] },
    async () => {
      const archivePath = await makeArchive(scratch.path);
      const archive = readFileSync(archivePath);
      const images = [await volumeOf('small.img', 'fat16', 8), await volumeOf('large.img', 'fat32', 40)];
      for (const image of images) mtools('mcopy', image, archivePath, `::${packageName}`);
      const variants = images.map((image) => {
        const bytes = readFileSync(image);
        const slot = bytes.indexOf('REED17~1ZIP'); // the package's short name in the root folder
        const noSectors = { offset: 11, bytes: Uint8Array.of(0, 0) }; // bytes a sector
        const longer = { offset: slot + 28, bytes: Uint8Array.of(0xff, 0xff, 0xff) };
        return [[], [longer], [noSectors], []];
      });
      const read = await readInKernel(images.map((image, index) => ({ image, variants: variants[index] ?? [] })));
      for (const [sound, longer, refused, again] of read) {
        expect(sound?.found[packageName]).toEqual(stated(archive));
        expect(longer?.found[packageName]).toBe('Input/output error');
        expect(refused).toEqual({ refused: 'Invalid argument', found: {} });
        expect(again).toEqual(sound);
      }
      expect(read).toHaveLength(2);
    },
  );
});
