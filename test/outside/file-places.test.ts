import { mkdirSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { afterAll, beforeAll, describe, expect } from 'vitest';
import { readFatGeometry } from '../../src/core/volume-format/fat-geometry.ts';
import { FatTable } from '../../src/core/volume-format/fat-table.ts';
import { FileFinder } from '../../src/core/volume-format/file-finder.ts';
import { nodeDigesting } from '../../src/io/digest/node-digest.ts';
import { toSectorReader } from '../../src/io/volume/fat/read-fat-facts.ts';
import { openFileDevice } from '../../src/io/volume/file-device.ts';
import { openVolume } from '../../src/io/volume/open-volume.ts';
import { digestFiles } from '../../src/workflows/stick/read-back.ts';
import { mtools } from '../fixtures/volumes/mtools.ts';
import { makeScratch, makeSparse, run, type Scratch } from '../fixtures/volumes/scratch.ts';
import { needs } from './needs.ts';

const itWithTools = needs({
  mcopy: 'mtools',
  mdel: 'mtools',
  mshowfat: 'mtools',
  'mkfs.fat': 'dosfstools',
  python3: 'python3',
});
let scratch: Scratch;
beforeAll(() => {
  scratch = makeScratch();
});
afterAll(() => scratch.undo());

/** The clusters of files, from what mtools' mshowfat says: `::/a/b <3-7> <12>`. */
function clustersByMshowfat(image: string, path: string): readonly number[] {
  const said = mtools('mshowfat', image, `::/${path}`);
  return [...said.matchAll(/<(\d+)(?:-(\d+))?>/g)].flatMap(([, first, last]) =>
    Array.from({ length: Number(last ?? first) - Number(first) + 1 }, (_, index) => Number(first) + index),
  );
}

function finderOn(image: string) {
  const device = openFileDevice(image, 'read');
  const boot = new Uint8Array(512);
  device.readSectors(0, boot);
  const read = readFatGeometry(boot);
  if (read.outcome !== 'fat') throw new Error('no FAT volume');
  const { geometry } = read;
  const reader = toSectorReader(device);
  const { dataFirstSector, sectorBytes, clusterBytes } = geometry;
  return {
    finder: new FileFinder({ reader, geometry, table: new FatTable(reader, geometry, 0, 2) }),
    clustersOf: (spans: readonly { readonly at: number; readonly bytes: number }[]): readonly number[] =>
      spans.flatMap(({ at, bytes }) =>
        Array.from(
          { length: Math.ceil(bytes / clusterBytes) },
          (_, index) => (at - dataFirstSector * sectorBytes) / clusterBytes + 2 + index,
        ),
      ),
    close: () => device.close(),
  };
}

/** Folders within folders, names that need long slots, names that do not, and holes that what follows is laid into. */
function fill(image: string, folder: string): readonly string[] {
  mkdirSync(folder);
  const put = (name: string, bytes: number, to: string): string => {
    writeFileSync(join(folder, name), Buffer.alloc(bytes, name));
    mtools('mcopy', image, join(folder, name), `::/${to}`);
    return `${to}${name}`;
  };
  for (const made of ['Bilder', 'Bilder/Räume im Haus', 'Bilder/Räume im Haus/ZWEI'])
    mtools('mmd', image, `::/${made}`);
  const many = Array.from({ length: 200 }, (_, index) =>
    put(`part number ${index}.bin`, 700 + index, 'Bilder/Räume im Haus/'),
  );
  const gone = many.filter((_, index) => index % 3 === 0);
  mtools('mdel', image, ...gone.map((path) => `::/${path}`));
  const laidIn = [put('SHORT.BIN', 30_000, ''), put('groß, über den Rand.bin', 40_000, 'Bilder/Räume im Haus/ZWEI/')];
  return [...many.filter((path) => !gone.includes(path)), ...laidIn, put('EMPTY', 0, '')];
}

describe('where files lie', () => {
  for (const [kind, mebibytes, options] of [
    ['FAT12', 4, ['-F', '12', '-s', '2']],
    ['FAT16', 16, ['-F', '16', '-s', '2']],
    ['FAT32', 40, ['-F', '32', '-s', '1']],
  ] as const) {
    itWithTools(`is where mtools says that they lie, on ${kind}`, async () => {
      const image = join(scratch.path, `${kind}.img`);
      run('mkfs.fat', ...options, makeSparse(image, mebibytes * 2 ** 20));
      const paths = fill(image, join(scratch.path, kind));
      const { finder, clustersOf, close } = finderOn(image);
      for (const path of paths) {
        expect(clustersOf(finder.spans(path) ?? []), path).toEqual(clustersByMshowfat(image, path));
      }
      // On FAT32 mtools goes on where FSInfo says, behind the holes.
      if (kind !== 'FAT32') expect(finder.spans('SHORT.BIN')?.length).toBeGreaterThan(1);
      expect(finder.spans('EMPTY')).toEqual([]);
      expect(finder.spans('bilder/RÄUME IM HAUS/zwei/GROß, ÜBER den RAND.bin')).toEqual(
        finder.spans(paths.at(-2) ?? ''),
      );
      for (const none of [
        'part number 0.bin',
        'Bilder',
        'Bilder/Räume im Haus/part number 0.bin',
        'SHORT.BIN/x',
        'no/such',
      ]) {
        expect(finder.spans(none), none).toBeUndefined();
      }
      await close();
    });
  }

  itWithTools('is not said of a file whose chain breaks off; reading it says what is wrong', async () => {
    const image = join(scratch.path, 'broken.img');
    run('mkfs.fat', '-F', '32', '-s', '1', makeSparse(image, 40 * 2 ** 20));
    const content = join(scratch.path, 'content.bin');
    writeFileSync(content, Buffer.alloc(5000, 7));
    mtools('mcopy', image, content, '::/UPDATE.BIN');
    const [, second = 0] = clustersByMshowfat(image, 'UPDATE.BIN');
    const volume = await openVolume(image, 'read');
    const [sound] = await digestFiles(volume, [{ path: 'UPDATE.BIN' }], { digesting: nodeDigesting });
    expect(sound).toMatchObject({ content: { bytes: 5000 } });
    await volume.close();
    run('python3', '-c', forgetLink, image, String(second));
    const damaged = await openVolume(image, 'read');
    const reader = await damaged.open('UPDATE.BIN', 'fresh');
    const read = async (): Promise<void> => {
      for await (const _ of reader.chunks());
    };
    await expect(read()).rejects.toMatchObject({ code: 'stick/read-failed', subject: 'UPDATE.BIN' });
    await damaged.close();
  });
});

/** Both tables forget what follows a cluster. */
const forgetLink = `
import struct, sys
with open(sys.argv[1], 'r+b') as image:
    boot = image.read(512)
    reserved, copies = struct.unpack_from('<H', boot, 14)[0], boot[16]
    sectors = struct.unpack_from('<I', boot, 36)[0]
    for copy in range(copies):
        image.seek((reserved + copy * sectors) * 512 + int(sys.argv[2]) * 4)
        image.write(struct.pack('<I', 0))
`;
