import { spawnSync } from 'node:child_process';
import { readFileSync, rmSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { describe, expect } from 'vitest';
import { settleDirtyMark } from '../../../src/io/medium/settle-dirty-mark.ts';
import { openVolume } from '../../../src/io/volume/open-volume.ts';
import { makeScratch, makeSparse, run } from '../../fixtures/volumes/scratch.ts';
import { needs } from '../../outside/needs.ts';

const dirtyAt = async (image: string): Promise<boolean | undefined> => {
  const volume = await openVolume(image, 'read');
  await volume.close();
  return volume.facts.dirty;
};

/**
 * Volumes of mkfs.fat (dosfstools), marked by the offsets of the Microsoft FAT specification 1.03; fsck.fat says
 * whether they are clean.
 */
describe('the mark of an unclean pull', () => {
  for (const [kind, mebibytes] of [
    [12, 8],
    [16, 32],
    [32, 64],
  ] as const) {
    needs({ 'mkfs.fat': 'dosfstools', 'fsck.fat': 'dosfstools' })(
      `goes, and nothing else changes (FAT${kind})`,
      async () => {
        const scratch = makeScratch();
        try {
          const image = makeSparse(join(scratch.path, 'volume.img'), mebibytes * 2 ** 20);
          run('mkfs.fat', '-F', String(kind), image);
          const clean = readFileSync(image);
          const marked = Buffer.from(clean);
          const [state, high, mask] = kind === 32 ? [65, 7, 0x08] : [37, 3, 0x80];
          marked[state] = (marked[state] ?? 0) | 1;
          const reserved = marked.readUInt16LE(14);
          const fatSectors = kind === 32 ? marked.readUInt32LE(36) : marked.readUInt16LE(22);
          if (kind !== 12)
            for (const copy of [0, 1]) {
              const at = (reserved + copy * fatSectors) * 512 + high;
              marked[at] = (marked[at] ?? 0) & ~mask;
            }
          writeFileSync(image, marked);
          expect(await dirtyAt(image)).toBe(true);
          await settleDirtyMark(image);
          expect(await dirtyAt(image)).toBe(false);
          expect(Buffer.compare(readFileSync(image), clean)).toBe(0);
          expect(spawnSync('fsck.fat', ['-n', image]).status).toBe(0);
        } finally {
          scratch.undo();
          rmSync(scratch.path, { recursive: true, force: true });
        }
      },
    );
  }
});
