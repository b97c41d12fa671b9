import { existsSync, mkdtempSync, rmSync, statfsSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, describe, expect } from 'vitest';
import { kernelPrograms } from '../fixtures/kernel/start-kernel.ts';
import { type BitStick, bitStickKinds, makeBitStick, verifyImage } from '../fixtures/media/bit-stick.ts';
import { mutationsOf } from '../fixtures/media/mutate-volume.ts';
import { byKernel, type Change, differences, flipped, StickFile } from '../fixtures/media/other-fat-readers.ts';
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

/** Asks every reader about each of TRIALS that verify takes; a line for each that reads something else. */
async function judge(stick: BitStick, trials: readonly Trial[]): Promise<{ count: Count; wrong: readonly string[] }> {
  const taken: Trial[] = [];
  for (const trial of trials) if (await isTaken(trial)) taken.push(trial);
  const [[kernelSound = {}, ...byKernelOf] = []] = await byKernel(
    [{ stick, changes: [[], ...taken.map(({ change }) => change)] }],
    folder,
  );
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

async function expectAlike(stick: BitStick, trials: readonly Trial[], what: string): Promise<void> {
  const { count, wrong } = await judge(stick, trials);
  console.log(`${stick.kind}, ${what}: ${JSON.stringify({ ...count, wrong: wrong.length })}`);
  if (all && wrong.length > 0) console.log(wrong.join('\n'));
  expect(wrong).toEqual([]);
  expect(count.refused).toBeGreaterThan(0);
  expect(count.harmless).toBeGreaterThan(0);
}

describe('where something else leads to the firmware, every reader finds the same, or the stick is not ready', () => {
  for (const kind of bitStickKinds) {
    needs(readers)(`${kind}: one bit is another`, options, async () => {
      const stick = await makeBitStick(kind, folder);
      const bits = bitsOf(structuresOf(stick)).map((bit) => ({
        stick,
        name: `${kind}, ${bit.what}, byte ${bit.at}, bit ${bit.bit}`,
        change: flipped(stick, bit),
      }));
      await expectAlike(stick, all ? bits : sample(bits, bitsOfASample, seeded(seed)), `of ${bits.length} bits`);
    });

    needs(readers)(`${kind}: bits, bytes, slots and sectors at random`, options, async () => {
      const stick = await makeBitStick(kind, folder);
      const mutations = mutationsOf(stick, structuresOf(stick), mutationsOfEach, seeded(seed)).map((change, index) => ({
        stick,
        name: `${kind}, mutation ${index} of ${change.length} bytes at ${change[0]?.at}`,
        change,
      }));
      await expectAlike(stick, mutations, 'mutations');
    });
  }
});
