import { readFileSync } from 'node:fs';
import { join } from 'node:path';
import { afterAll, describe, expect } from 'vitest';
import { firmwareTree, makeArchive, packageName, prepare, sha256 } from '../fixtures/desk.ts';
import { readInKernel } from '../fixtures/kernel/read-in-kernel.ts';
import { kernelPrograms, runInKernel } from '../fixtures/kernel/start-kernel.ts';
import { mtools } from '../fixtures/volumes/mtools.ts';
import { makeFatImage, makeScratch } from '../fixtures/volumes/scratch.ts';
import { needs } from './needs.ts';

const scratch = makeScratch();
afterAll(() => scratch.undo());

const mebibyte = 2 ** 20;
const volumeOf = (name: string, kind: 'fat16' | 'fat32', mebibytes: number, partitioned = false) =>
  makeFatImage(join(scratch.path, name), mebibytes * mebibyte, { kind, clusterBytes: 512, partitioned });

const stated = (bytes: Buffer) => ({ bytes: bytes.length, stated: bytes.length, sha256: sha256(bytes) });

// Linux's own vfat, as user-mode Linux: every Linux desk and most panels read a stick with it.
describe("the kernel's vfat", () => {
  needs({ ...kernelPrograms, sha256sum: 'coreutils' })(
    'lists a prepared stick, and sha256sum -c finds it whole',
    { tags: ['read-alike-by-all', 'any-machine-checks'] },
    async () => {
      const archivePath = await makeArchive(scratch.path);
      const image = await volumeOf('prepared, in its own way.img', 'fat32', 64, true);
      const { report } = await prepare({ archivePath, targets: [image] });
      expect(report.sticks[0]?.state).toBe('written');
      const script =
        'mkdir /run/stick && mount -r /dev/ubda1 /run/stick && cd /run/stick && ls && sha256sum -c stickwright/*256';
      const printed = await runInKernel({ disks: [image], script });
      const checked = Object.keys(firmwareTree).map((path) => `${path}: OK`);
      expect(printed.trim().split('\n').sort()).toEqual(
        ['images', 'release-note.txt', 'slate_boot.pkg', 'stickwright', ...checked].sort(),
      );
    },
  );

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
        const slot = bytes.indexOf('TSC4-2~1ZIP'); // the package's short name in the root folder
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
