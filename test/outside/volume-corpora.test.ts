import { copyFileSync, existsSync, readdirSync, readFileSync } from 'node:fs';
import { join } from 'node:path';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { ToolError } from '../../src/core/model/tool-error.ts';
import { recogniseVolume } from '../../src/core/volume-format/boot-sector.ts';
import { readOtherGeometry } from '../../src/core/volume-format/fat-root.ts';
import { openVolume } from '../../src/io/volume/open-volume.ts';
import { makeScratch, run, type Scratch } from '../fixtures/volumes/scratch.ts';
import { itWithout, needs } from './needs.ts';

const corpora = process.env.STICKWRIGHT_CORPORA;
const volumes = corpora === undefined ? '' : join(corpora, 'volumes');
const missing = existsSync(volumes) ? '' : 'STICKWRIGHT_CORPORA, set to a folder of public test data';
const itWithCorpora = missing === '' ? it : itWithout(missing);

let scratch: Scratch;
beforeAll(() => {
  scratch = makeScratch();
});
afterAll(() => scratch.undo());

/** A copy that may be opened: what others made is never touched. */
function copyOf(...parts: readonly string[]): string {
  const copy = join(scratch.path, parts.join(' '));
  copyFileSync(join(volumes, ...parts), copy);
  return copy;
}

describe('volumes that others made', () => {
  itWithCorpora('rust-fatfs: sound FAT12 and FAT16 are read', async () => {
    for (const kind of ['fat12', 'fat16'] as const) {
      const volume = await openVolume(copyOf('rust-fatfs', `${kind}.img`), 'read');
      expect(volume.facts.fileSystem).toBe(kind);
      const entries = await volume.entries();
      expect(entries.length).toBeGreaterThan(3);
      for (const entry of entries.filter((one) => one.kind === 'file')) {
        let bytes = 0;
        for await (const chunk of (await volume.open(entry.path, 'fresh')).chunks()) bytes += chunk.length;
        expect(bytes, entry.path).toBe(entry.bytes);
      }
      await volume.close();
    }
  });

  itWithCorpora('go-exfat: exFAT is recognised and refused by name', async () => {
    const image = copyOf('go-exfat', 'test.exfat');
    const head = readFileSync(image).subarray(0, 4096);
    expect(recogniseVolume(head).fileSystem).toBe('exfat');
    expect(readOtherGeometry('exfat', head)?.volumeBytes).toBe(readFileSync(image).length);
    await expect(openVolume(image, 'read')).rejects.toMatchObject({
      code: 'stick/unsupported-file-system',
      message: expect.stringContaining('exFAT'),
    });
  });

  const itWithDumps = missing === '' ? needs({ xxd: 'xxd' }) : itWithCorpora;
  itWithDumps('dosfstools: damaged volumes are read or refused, and never worse', async () => {
    const dumps = readdirSync(join(volumes, 'dosfstools')).filter((name) => /\.(fsck|xxd)$/.test(name));
    expect(dumps.length).toBeGreaterThan(10);
    let read = 0;
    for (const name of dumps) {
      const image = join(scratch.path, `${name}.img`);
      // `xxd -r` makes the image of a dump; it leaves out what is zero, also at the end.
      run('xxd', '-r', join(volumes, 'dosfstools', name), image);
      if (await canReadAll(image)) read++;
    }
    expect(read).toBeGreaterThan(0);
  });
});

async function canReadAll(image: string): Promise<boolean> {
  try {
    const volume = await openVolume(image, 'read');
    try {
      for (const entry of await volume.entries()) {
        if (entry.kind === 'folder') continue;
        for await (const chunk of (await volume.open(entry.path, 'fresh')).chunks())
          expect(chunk.length).toBeGreaterThan(0);
      }
    } finally {
      await volume.close();
    }
    return true;
  } catch (error) {
    expect(error).toBeInstanceOf(ToolError);
    return false;
  }
}
