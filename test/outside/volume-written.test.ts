import { spawnSync } from 'node:child_process';
import { readFileSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { afterAll, beforeAll, describe, expect } from 'vitest';
import { openVolume } from '../../src/io/volume/open-volume.ts';
import { makeFatImage, makeScratch, makeSparse, run, type Scratch } from '../fixtures/volumes/scratch.ts';
import { patterned, readFile, writeFile } from '../io/volume/conformance/stand.ts';
import { needs } from './needs.ts';

const itWithTools = needs({ 'mkfs.fat': 'dosfstools', 'fsck.fat': 'dosfstools', mdir: 'mtools', mcopy: 'mtools' });
const mebibyte = 2 ** 20;
let scratch: Scratch;
beforeAll(() => {
  scratch = makeScratch();
});
afterAll(() => scratch.undo());

/** What lies on the stick and what of it mtools can be asked for: its names are limited to the locale's characters. */
const tree: readonly { path: string; bytes: number }[] = [
  { path: 'sedge_boot.pkg', bytes: 700_001 },
  { path: 'images/system part 1.img', bytes: 1_500_000 },
  { path: 'images/vendor.img', bytes: 65_536 },
  { path: 'images/deeper/empty.bin', bytes: 0 },
  { path: 'images/deeper/UPPER.TXT', bytes: 511 },
  { path: `long ${'x'.repeat(200)}.bin`, bytes: 4097 },
];

async function writeTree(image: string): Promise<void> {
  const volume = await openVolume(image, 'write');
  await volume.makeFolder('stage');
  for (const folder of ['images', 'images/deeper']) await volume.makeFolder(folder);
  for (const [index, { path, bytes }] of tree.entries()) {
    await writeFile(volume, `stage/part ${index}.tmp`, patterned(bytes, index));
    await volume.rename(`stage/part ${index}.tmp`, path);
  }
  await writeFile(volume, 'stage/gone.bin', patterned(900_000));
  await volume.removeFile('stage/gone.bin');
  await volume.removeFolder('stage');
  await volume.flush();
  await volume.close();
}

const shapes = [
  { name: 'FAT12', bytes: 12 * mebibyte, options: ['-F', '12', '-s', '8'], offset: 0 },
  { name: 'FAT16', bytes: 16 * mebibyte, options: ['-F', '16', '-s', '2'], offset: 0 },
  { name: 'FAT32', bytes: 64 * mebibyte, options: ['-F', '32', '-s', '1'], offset: 0 },
  { name: 'FAT32 with 64 KiB clusters', bytes: 5000 * mebibyte, options: ['-F', '32', '-s', '128'], offset: 0 },
  {
    name: 'FAT16 with 4,096-byte sectors',
    bytes: 64 * mebibyte,
    options: ['-F', '16', '-S', '4096', '-s', '1'],
    offset: 0,
  },
] as const;

function check(image: string, offset = 0): void {
  const volume = offset === 0 ? image : join(scratch.path, 'partition.img');
  if (offset > 0) writeFileSync(volume, readFileSync(image).subarray(offset));
  // -n changes nothing; anything it would repair makes the status 1.
  const fsck = spawnSync('fsck.fat', ['-n', '-V', volume], { encoding: 'utf8' });
  expect(fsck.stdout).not.toMatch(/wrong|differ|dirty|Reclaimed|Bad|Orphan/i);
  expect(fsck.status, fsck.stdout).toBe(0);
  const source = `${image}@@${offset}`;
  for (const [index, { path, bytes }] of tree.entries()) {
    const out = join(scratch.path, 'copied out');
    run('mcopy', '-n', '-o', '-i', source, `::/${path}`, out);
    expect(Buffer.compare(readFileSync(out), patterned(bytes, index)), path).toBe(0);
  }
  // -b lists bare paths, recursively, in the order of the slots.
  const listed = run('mdir', '-/', '-b', '-i', source).trim().split('\n');
  const expected = ['images/', ...tree.map((file) => file.path)].map((path) => `::/${path}`);
  expect(listed.filter((line) => !line.endsWith('/deeper/')).toSorted()).toEqual(expected.toSorted());
}

describe('a volume that we wrote is sound to fsck.fat, and mtools copies the same bytes out', {
  tags: ['read-alike-by-all'],
}, () => {
  for (const { name, bytes, options } of shapes) {
    itWithTools(name, async () => {
      const image = makeSparse(join(scratch.path, 'written.img'), bytes);
      run('mkfs.fat', ...options, image);
      await writeTree(image);
      check(image);
    });
  }

  itWithTools('FAT32 behind an MBR', async () => {
    const image = await makeFatImage(join(scratch.path, 'table.img'), 41 * mebibyte, {
      kind: 'fat32',
      partitioned: true,
    });
    await writeTree(image);
    check(image, mebibyte);
  });
});

describe('a volume that mtools wrote', () => {
  itWithTools('is read with the same names and bytes, in the order of its directory', async () => {
    const image = makeSparse(join(scratch.path, 'theirs.img'), 64 * mebibyte);
    run('mkfs.fat', '-F', '32', image);
    for (const folder of ['zz', 'Mixed Case Folder']) run('mmd', '-i', image, `::/${folder}`);
    const names = ['SHORT.BIN', 'lower.bin', 'A long name, with a comma.img', 'zz/inner.bin'];
    for (const [index, name] of names.entries()) {
      const source = join(scratch.path, 'source');
      writeFileSync(source, patterned(10_000 * (index + 1), index));
      run('mcopy', '-i', image, source, `::/${name}`);
    }
    const volume = await openVolume(image, 'read');
    expect((await volume.entries()).map((entry) => entry.path)).toEqual([
      'zz',
      'zz/inner.bin',
      'Mixed Case Folder',
      'SHORT.BIN',
      'lower.bin',
      'A long name, with a comma.img',
    ]);
    for (const [index, name] of names.entries()) {
      const content = await readFile(volume, name, 'fresh');
      expect(Buffer.compare(content, patterned(10_000 * (index + 1), index)), name).toBe(0);
    }
    await volume.close();
  });
});

const itWithMarks = needs({ mattrib: 'mtools', 'mkfs.fat': 'dosfstools' });

describe('what mattrib of mtools has marked read-only', () => {
  itWithMarks('is not removed, and the message says how it can be', async () => {
    const image = join(scratch.path, 'marked.img');
    run('mkfs.fat', '-F', '16', makeSparse(image, 16 * mebibyte));
    const filled = await openVolume(image, 'write');
    await filled.makeFolder('held');
    await writeFile(filled, 'held/marked.bin', patterned(5000));
    await filled.close();
    run('mattrib', '-i', image, '+r', '::/held/marked.bin');
    const volume = await openVolume(image, 'write');
    await expect(volume.removeFile('held/marked.bin')).rejects.toMatchObject({
      code: 'stick/write-failed',
      message: 'it is marked read-only, so it was not removed',
      todo: expect.stringContaining('attrib -r'),
    });
    await expect(volume.removeFolder('held')).rejects.toThrow('the folder is not empty');
    run('mattrib', '-i', image, '-r', '::/held/marked.bin');
    await volume.close();
    const again = await openVolume(image, 'write');
    await again.removeFile('held/marked.bin');
    await again.removeFolder('held');
    expect(await again.entries()).toEqual([]);
    await again.close();
  });
});
