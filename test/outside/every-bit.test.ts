import { existsSync, mkdtempSync, rmSync, statfsSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, describe, expect } from 'vitest';
import { kernelPrograms } from '../fixtures/kernel/start-kernel.ts';
import { type BitStick, bitStickKinds, makeBitStick, verifyImage } from '../fixtures/media/bit-stick.ts';
import { mutationsOf } from '../fixtures/media/mutate-volume.ts';
import {
  byKernel,
  type Change,
  differences,
  flipped,
  type Reading,
  StickFile,
} from '../fixtures/media/other-fat-readers.ts';
import { bitsOf, structuresOf } from '../fixtures/media/structures.ts';
import { seeded } from '../fixtures/volumes/power-cuts.ts';
import { needs } from './needs.ts';

/** In memory where there is room: each change is a file that others read. */
const memory = '/dev/shm';
const hasRoom = existsSync(memory) && statfsSync(memory).bavail * statfsSync(memory).bsize > 2 ** 30;
const folder = mkdtempSync(join(hasRoom ? memory : tmpdir(), 'stickwright bits-'));
afterAll(() => rmSync(folder, { recursive: true, force: true }));

/** `npm run cuts` tries every bit and 20,000 mutations; without it a sample with a fixed seed. */
const all = process.env.STICKWRIGHT_CUTS === 'all';
const seed = 20261128;
const bitsOfASample = 150;
const mutationsOfEach = all ? 6667 : 167;

interface Trial {
  readonly stick: BitStick;
  readonly name: string;
  readonly change: Change;
}

interface Count {
  tried: number;
  refused: number;
  /** Neither mtools nor the kernel nor a repair reads anything else. */
  harmless: number;
}

/** Whether verify takes IMAGE with CHANGE; what cannot be opened is not ready. */
async function isTaken({ stick, change }: Trial): Promise<boolean> {
  const image = stick.image;
  const before = change.map(({ at }) => image.readUInt8(at));
  for (const { at, byte } of change) image[at] = byte;
  try {
    return (await verifyImage(image)).verdict !== 'not-ready';
  } catch (error) {
    if (error instanceof Error && 'code' in error && String(error.code).startsWith('stick/')) return false;
    throw error;
  } finally {
    for (const [index, { at }] of change.entries()) image[at] = before[index] ?? 0;
  }
}

/** What is tried on a stick, and what of it verify takes. */
interface Batch {
  readonly stick: BitStick;
  readonly trials: readonly Trial[];
  readonly taken: readonly Trial[];
  readonly kernelSound: Reading;
  /** In the order of `taken`. */
  readonly byKernelOf: readonly Reading[];
}

/** Asks every other reader about each of the trials that verify takes; a line for each that reads something else. */
async function judge({ stick, trials, taken, kernelSound, byKernelOf }: Batch): Promise<{
  count: Count;
  wrong: readonly string[];
}> {
  const wrong: string[] = [];
  const waiting = taken.entries();
  const lane = async (): Promise<void> => {
    const file = new StickFile(stick, folder);
    const sound = await file.byMtools();
    expect(Object.keys(kernelSound).sort()).toEqual(Object.keys(sound).sort());
    for (const [index, { name, change }] of waiting) {
      const mtools = await file.with(change, () => file.byMtools());
      const found = [
        ...differences(mtools, sound).map((line) => `mtools: ${line}`),
        ...differences(byKernelOf[index] ?? {}, kernelSound).map((line) => `kernel: ${line}`),
      ];
      const repaired = found.length > 0 ? undefined : await file.afterRepair(change);
      if (repaired !== undefined) found.push(...differences(repaired, sound).map((line) => `after fsck.fat: ${line}`));
      if (found.length > 0) wrong.push(`${name}: ${found.slice(0, 4).join('; ')}`);
    }
    file.close();
  };
  await Promise.all([lane(), lane()]);
  const count = { tried: trials.length, refused: trials.length - taken.length, harmless: taken.length - wrong.length };
  return { count, wrong };
}

function sample<T>(from: readonly T[], number: number, random: () => number): readonly T[] {
  const left = [...from];
  return Array.from(
    { length: Math.min(number, left.length) },
    () => left.splice(Math.floor(random() * left.length), 1)[0] as T,
  );
}

const readers = { mcopy: 'mtools', 'fsck.fat': 'dosfstools', ...kernelPrograms };
const options = {
  tags: ['read-alike-by-all', 'ready-means-read-back', 'any-machine-checks'],
  timeout: all ? 14_400_000 : 400_000,
};

const ways = {
  'one bit is another': (stick: BitStick) => {
    const bits = bitsOf(structuresOf(stick)).map((bit) => ({
      stick,
      name: `${stick.kind}, ${bit.what}, byte ${bit.at}, bit ${bit.bit}`,
      change: flipped(stick, bit),
    }));
    return all ? bits : sample(bits, bitsOfASample, seeded(seed));
  },
  'bits, bytes, slots and sectors at random': (stick: BitStick) =>
    mutationsOf(stick, structuresOf(stick), mutationsOfEach, seeded(seed)).map((change, index) => ({
      stick,
      name: `${stick.kind}, mutation ${index} of ${change.length} bytes at ${change[0]?.at}`,
      change,
    })),
} as const;

interface Part {
  readonly kind: (typeof bitStickKinds)[number];
  readonly way: keyof typeof ways;
}
const parts: readonly Part[] = bitStickKinds.flatMap((kind) =>
  (Object.keys(ways) as (keyof typeof ways)[]).map((way) => ({ kind, way })),
);

/** One start of the kernel for all of CHOSEN. */
async function makeBatches(chosen: readonly Part[]): Promise<ReadonlyMap<Part, Batch>> {
  const made: Pick<Batch, 'stick' | 'trials' | 'taken'>[] = [];
  for (const { kind, way } of chosen) {
    const stick = await makeBitStick(kind, folder);
    const trials = ways[way](stick);
    const taken: Trial[] = [];
    for (const trial of trials) if (await isTaken(trial)) taken.push(trial);
    made.push({ stick, trials, taken });
  }
  const asked = made.map(({ stick, taken }) => ({ stick, changes: [[], ...taken.map(({ change }) => change)] }));
  const read = await byKernel(asked, folder);
  return new Map(
    chosen.map((part, at) => {
      const [kernelSound = {}, ...byKernelOf] = read[at] ?? [];
      return [part, { ...(made[at] as (typeof made)[number]), kernelSound, byKernelOf }];
    }),
  );
}

let sampled: Promise<ReadonlyMap<Part, Batch>> | undefined;
/** A sample of all shares one start; whole they are too many for that. */
async function batchOf(part: Part): Promise<Batch> {
  if (!all) sampled ??= makeBatches(parts);
  const batch = (await (sampled ?? makeBatches([part]))).get(part);
  if (batch === undefined) throw new Error('nothing was tried');
  return batch;
}

describe('where something else leads to the firmware, every reader finds the same, or the stick is not ready', () => {
  for (const part of parts)
    needs(readers)(`${part.kind}: ${part.way}`, options, async () => {
      const batch = await batchOf(part);
      const { count, wrong } = await judge(batch);
      console.log(`${part.kind}, ${part.way}: ${JSON.stringify({ ...count, wrong: wrong.length })}`);
      if (all && wrong.length > 0) console.log(wrong.join('\n'));
      expect(wrong).toEqual([]);
      expect(batch.byKernelOf).toHaveLength(batch.taken.length);
      expect(count.refused).toBeGreaterThan(0);
      expect(count.harmless).toBeGreaterThan(0);
    });
});
