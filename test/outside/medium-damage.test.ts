import { spawnSync } from 'node:child_process';
import { closeSync, mkdtempSync, openSync, rmSync, writeSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, describe, expect } from 'vitest';
import { checkMedium } from '../../src/core/checks/medium/check-medium.ts';
import { auditMedium } from '../../src/core/volume-format/audit/audit-medium.ts';
import type { FatKind } from '../../src/core/volume-format/fat-geometry.ts';
import { type Damage, fieldDamages, reservedDamages, slotDamages, tableDamages } from '../fixtures/media/damages.ts';
import { makeFatImage } from '../fixtures/media/make-fat-image.ts';
import { readerOf } from '../fixtures/media/reader-of.ts';
import { needs } from './needs.ts';

const folder = mkdtempSync(join(tmpdir(), 'damage-'));
afterAll(() => rmSync(folder, { recursive: true, force: true }));

const outside = needs({ 'fsck.fat': 'dosfstools', mcopy: 'mtools' });

/** STICKWRIGHT_SWEEP=1 tries every damage; otherwise a fixed part of them. */
const sweeps = process.env.STICKWRIGHT_SWEEP === '1';
const strides: Record<FatKind, number> = { fat12: 17, fat16: 17, fat32: 19 };

/** The sound volume has a deleted file, which is worth a note. */
const codesOf = (image: Uint8Array, sizeBytes: number): readonly string[] =>
  checkMedium(auditMedium(readerOf(image, sizeBytes)), { target: 'stick', mode: 'recovery' })
    .map(({ code }) => code)
    .filter((code) => code !== 'medium/stale-slots');

/** All structures and folders of the small volumes lie in here; only this part is damaged, copied and written. */
const headBytes = 2 ** 20;

/**
 * Whether fsck.fat finds anything: 1 for errors, 2 where it cannot go on at all (fsck.fat(8), "EXIT STATUS"); on some
 * it never ends.
 */
function complains(path: string, head: Uint8Array): string | undefined {
  const file = openSync(path, 'r+');
  writeSync(file, head, 0, head.length, 0);
  closeSync(file);
  const { status, stdout, stderr } = spawnSync('fsck.fat', ['-n', path], { encoding: 'utf8', timeout: 1500 });
  return status === 0 ? undefined : stdout + stderr;
}

interface Count {
  damages: number;
  complained: number;
  both: number;
  oursAlone: number;
}

/** Applies one damage after the other; where fsck.fat complains, so must we. */
function compare(path: string, sound: Buffer, damages: readonly Damage[]): { count: Count; missed: readonly string[] } {
  const count: Count = { damages: 0, complained: 0, both: 0, oursAlone: 0 };
  const missed: string[] = [];
  for (const { name, apply } of damages) {
    const head = Buffer.from(sound.subarray(0, headBytes));
    apply(head);
    const ours = codesOf(head, sound.length);
    const theirs = complains(path, head);
    count.damages++;
    if (theirs !== undefined) count.complained++;
    if (theirs !== undefined && ours.length > 0) count.both++;
    if (theirs === undefined && ours.length > 0) count.oursAlone++;
    if (theirs !== undefined && ours.length === 0)
      missed.push(`${name}: ${theirs.split('\n').slice(1, 5).join(' / ')}`);
  }
  return { count, missed };
}

/** Numerical Recipes' "quick and dirty" generator, with a fixed start. */
function randomDamages(sound: Buffer, number: number, meta: number): readonly Damage[] {
  let state = 20260914;
  const next = (below: number): number => {
    state = (Math.imul(state, 1_664_525) + 1_013_904_223) >>> 0;
    return Math.floor((state / 2 ** 32) * below);
  };
  return Array.from({ length: number }, (_, index) => {
    const changes = Array.from(
      { length: 1 + next(12) },
      () => [next(Math.min(meta, sound.length)), next(256)] as const,
    );
    return {
      name: `random ${index}`,
      apply: (image: Buffer) => {
        for (const [at, value] of changes) image[at] = value;
      },
    };
  });
}

describe('where fsck.fat complains of a damaged volume, so do we', () => {
  for (const kind of ['fat12', 'fat16', 'fat32'] as const) {
    outside(
      `${kind}: each field of the boot sector, FSInfo, table entries, directory slots, and at random`,
      { timeout: 900_000 }, // thousands of runs of fsck.fat, some of which never end by themselves
      async () => {
        const sound = await makeFatImage(kind, folder);
        const path = join(folder, `${kind}.img`);
        expect(codesOf(sound, sound.length)).toEqual([]);
        expect(complains(path, sound.subarray(0, headBytes))).toBeUndefined();
        const every = <T>(all: readonly T[]): readonly T[] =>
          all.filter((_, index) => sweeps || index % strides[kind] === 0);
        const damages = [
          ...every(fieldDamages(sound)),
          ...reservedDamages(sound),
          ...every(tableDamages(sound)),
          ...every(slotDamages(sound)),
          ...randomDamages(sound, sweeps ? 1000 : 30, 60_000),
        ];
        const { count, missed } = compare(path, sound, damages);
        expect(missed).toEqual([]);
        expect(count.complained).toBeGreaterThan(20);
        if (sweeps) console.log(kind, JSON.stringify(count));
      },
    );
  }
});
