import { spawnSync } from 'node:child_process';
import { mkdirSync, truncateSync, unlinkSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { afterAll, beforeAll, describe, expect } from 'vitest';
import { nodeDigesting } from '../../src/io/digest/node-digest.ts';
import { openVolume } from '../../src/io/volume/open-volume.ts';
import type { Volume } from '../../src/io/volume/volume.ts';
import { digestFiles } from '../../src/workflows/stick/read-back.ts';
import { mtools } from '../fixtures/volumes/mtools.ts';
import { makeScratch, makeSparse, run, type Scratch } from '../fixtures/volumes/scratch.ts';
import { patterned } from '../io/volume/conformance/stand.ts';
import { needs } from './needs.ts';

const itWithTools = needs({ mcopy: 'mtools', mdel: 'mtools', 'mkfs.fat': 'dosfstools', sha256sum: 'coreutils' });
const mebibyte = 2 ** 20;
/** Around the block, the alignment of a direct read, the sector and the cluster. */
const lengths = [0, 1, 511, 512, 513, 4095, 4096, 4097, mebibyte - 1, mebibyte, mebibyte + 1, 5 * mebibyte + 77];
let scratch: Scratch;
beforeAll(() => {
  scratch = makeScratch();
});
afterAll(() => scratch.undo());

/** What coreutils' sha256sum makes of the files, by name. */
function sumsOf(folder: string, names: readonly string[]): readonly string[] {
  const done = spawnSync('sha256sum', names as string[], { cwd: folder, encoding: 'utf8' });
  expect(done.status).toBe(0);
  return done.stdout
    .trim()
    .split('\n')
    .map((line) => line.slice(0, 64));
}

function makeSources(name: string): { readonly folder: string; readonly names: readonly string[] } {
  const folder = join(scratch.path, name);
  mkdirSync(folder);
  const names = lengths.map((bytes, index) => {
    writeFileSync(join(folder, `part${index}.bin`), patterned(bytes, index));
    return `part${index}.bin`;
  });
  return { folder, names };
}

/** By dosfstools. */
function mkfs(image: string, mebibytes: number, options: readonly string[]): void {
  run('mkfs.fat', ...options, makeSparse(image, mebibytes * mebibyte));
}

const filesOf = (names: readonly string[]) => names.map((path) => ({ path }));

async function expectSums(volume: Volume, names: readonly string[], sums: readonly string[]): Promise<void> {
  let heard = 0;
  const listen = (bytes: number): void => {
    heard += bytes;
  };
  const outcomes = await digestFiles(volume, filesOf(names), { digesting: nodeDigesting, heard: listen });
  expect(outcomes.map((one) => ('content' in one ? one.content.sha256 : String(one.error)))).toEqual(sums);
  expect(heard).toBe(lengths.reduce((sum, bytes) => sum + bytes, 0));
}

describe('files read around the cache, several side by side, have the sums that sha256sum gives', {
  tags: ['ready-means-read-back'],
}, () => {
  for (const [name, megabytes, options] of [
    ['FAT12', 24, ['-F', '12', '-s', '16']],
    ['FAT16', 32, ['-F', '16', '-s', '2']],
    ['FAT32', 64, ['-F', '32', '-s', '1']],
  ] as const) {
    itWithTools(`on a ${name} image whose files mtools scattered`, async () => {
      const { folder, names } = makeSources(`of ${name}`);
      const image = join(scratch.path, `${name}.img`);
      mkfs(image, megabytes, [...options]);
      // The volume is filled and every other file deleted: what follows is laid into the holes.
      const holes = Array.from({ length: megabytes * 5 - 5 }, (_, index) => `hole${index}.bin`);
      for (const hole of holes) writeFileSync(join(folder, hole), patterned(200_000));
      mtools('mcopy', image, ...holes.map((hole) => join(folder, hole)), '::/');
      mtools('mdel', image, ...holes.filter((_, index) => index % 2 === 0).map((hole) => `::/${hole}`));
      mtools('mcopy', image, ...names.map((one) => join(folder, one)), '::/');
      const volume = await openVolume(image, 'read');
      try {
        const last = `::/${names.at(-1)}`;
        expect(mtools('mshowfat', image, last).match(/<\d+-\d+>/g)?.length).toBeGreaterThan(1);
        await expectSums(volume, names, sumsOf(folder, names));
      } finally {
        await volume.close();
      }
    });
  }

  itWithTools('in a folder', async () => {
    const { folder, names } = makeSources('a folder');
    const volume = await openVolume(folder, 'read');
    await expectSums(volume, names, sumsOf(folder, names));
    await volume.close();
  });
});

describe('what goes wrong while files are read', () => {
  itWithTools('is an answer about that file alone', async () => {
    const { folder, names } = makeSources('one is gone');
    const volume = await openVolume(folder, 'read');
    unlinkSync(join(folder, names[3] ?? ''));
    const outcomes = await digestFiles(volume, filesOf(names), { digesting: nodeDigesting });
    expect(outcomes.map((one) => 'content' in one)).toEqual(names.map((_, index) => index !== 3));
    expect(outcomes[3]).toMatchObject({ error: { name: 'ToolError', code: 'stick/not-as-listed', subject: names[3] } });
    await volume.close();
  });

  itWithTools('is said of a medium that ends too early', async () => {
    const { folder, names } = makeSources('cut short');
    const image = join(scratch.path, 'short.img');
    mkfs(image, 64, ['-F', '32', '-s', '1']);
    mtools('mcopy', image, ...names.map((one) => join(folder, one)), '::/');
    const volume = await openVolume(image, 'read');
    const reader = await volume.open(names.at(-1) ?? '', 'fresh');
    truncateSync(image, 3 * mebibyte);
    const read = async (): Promise<void> => {
      for await (const _ of reader.chunks());
    };
    const message = 'the medium ends before its stated size';
    await expect(read()).rejects.toMatchObject({ code: 'stick/read-failed', message });
    await volume.close();
  });

  itWithTools('does not outlast an interruption', async () => {
    const folder = join(scratch.path, 'large');
    mkdirSync(folder);
    writeFileSync(join(folder, 'large.bin'), Buffer.alloc(200 * mebibyte));
    const volume = await openVolume(folder, 'read');
    const stopping = new AbortController();
    const heard: number[] = [];
    const work = digestFiles(volume, [{ path: 'large.bin' }], {
      digesting: nodeDigesting,
      signal: stopping.signal,
      heard: (bytes) => {
        heard.push(bytes);
        stopping.abort(new Error('Ctrl-C'));
      },
    });
    await expect(work).rejects.toThrow('Ctrl-C');
    expect(heard.reduce((sum, bytes) => sum + bytes, 0)).toBeLessThan(200 * mebibyte);
    await volume.close();
  });
});
