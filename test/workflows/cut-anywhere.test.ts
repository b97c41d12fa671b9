import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { largeScenario, type Scenario, smallScenarios } from '../fixtures/cut-scenarios.ts';
import { faultsOfCut, faultsOfFinishing, removeRecovered, repairWithFsck } from '../fixtures/cut-sticks.ts';
import type { MemoryDevice } from '../fixtures/volumes/memory-device.ts';
import { seeded } from '../fixtures/volumes/power-cuts.ts';
import { missingPrograms, needs } from '../outside/needs.ts';

/** `npm run cuts` tries every cut of every small preparation; without it a sample with a fixed seed. */
const all = process.env.STICKWRIGHT_CUTS === 'all';
const seed = 20261125;
const withFsck = missingPrograms({ 'fsck.fat': 'dosfstools' }) === '';

let folder: string;
let small: readonly Scenario[];
let large: Scenario;

beforeAll(async () => {
  folder = mkdtempSync(join(tmpdir(), 'stickwright cuts-'));
  small = await smallScenarios(folder);
  large = await largeScenario(mkdtempSync(join(folder, 'large-')));
});
afterAll(() => rmSync(folder, { recursive: true, force: true }));

interface Cut {
  readonly scenario: Scenario;
  readonly name: string;
  readonly isLast: boolean;
  readonly medium: () => MemoryDevice;
}

/** Power goes after each write, in the order of the writes. */
const plainCuts = (scenario: Scenario): readonly Cut[] =>
  Array.from({ length: scenario.log.writes.length + 1 }, (_, count) => ({
    scenario,
    name: `after write ${count}`,
    isLast: count === scenario.log.writes.length,
    medium: () => scenario.log.after(count),
  }));

/** Power goes inside a write of several sectors, after each of them. */
const tornCuts = (scenario: Scenario): readonly Cut[] =>
  scenario.log.writes.flatMap(({ bytes }, count) =>
    Array.from({ length: bytes.length / 512 - 1 }, (_, at) => ({
      scenario,
      name: `in write ${count}, after ${at + 1} sectors`,
      isLast: false,
      medium: () => scenario.log.tornAfter(count, at + 1),
    })),
  );

/**
 * Of the writes since the last flush any may have reached the medium: SAMPLES subsets for each cut that leaves a
 * choice.
 */
function unorderedCuts(scenario: Scenario, samples: number, random: () => number): readonly Cut[] {
  const { log } = scenario;
  return Array.from({ length: log.writes.length + 1 }, (_, count) => count).flatMap((count) => {
    const waiting = log.writes.flatMap((_write, index) =>
      index < count && log.isWaiting(index, count) ? [index] : [],
    );
    if (waiting.length < 2) return [];
    return Array.from({ length: samples }, () => {
      const reached = new Set(waiting.filter(() => random() < 0.5));
      return {
        scenario,
        name: `after write ${count}, of the last ${waiting.length} only ${[...reached].join(' ')}`,
        isLast: false,
        medium: () => log.unorderedAfter(count, (index) => reached.has(index)),
      };
    });
  });
}

async function faultsOf({ scenario, name, isLast, medium }: Cut): Promise<readonly string[]> {
  const { expected } = scenario;
  const stick = medium();
  const faults = await faultsOfCut(stick.copy(), expected, isLast);
  if (withFsck) {
    const { repaired, faults: unrepaired } = repairWithFsck(stick, folder);
    await removeRecovered(repaired);
    const after = [
      ...unrepaired,
      ...(await faultsOfCut(repaired.copy(), expected, isLast)),
      ...(await faultsOfFinishing(repaired, expected)),
    ];
    faults.push(...after.map((fault) => `repaired: ${fault}`));
  }
  faults.push(...(await faultsOfFinishing(stick, expected)));
  return faults.map((fault) => `${scenario.name}, ${name}: ${fault}`);
}

/** A fixed-seed sample of COUNT of them, or all. */
function sample(cuts: readonly Cut[], count: number, random: () => number): readonly Cut[] {
  if (count >= cuts.length) return cuts;
  return cuts
    .map((cut) => ({ cut, place: random() }))
    .sort((a, b) => a.place - b.place)
    .slice(0, count)
    .map(({ cut }) => cut);
}

async function tryAll(title: string, cuts: readonly Cut[]): Promise<void> {
  const faults: string[] = [];
  for (const cut of cuts) faults.push(...(await faultsOf(cut)));
  process.stdout.write(
    `${title}: ${cuts.length} cuts, ${faults.length} faults${withFsck ? '' : ', without fsck.fat'}\n`,
  );
  expect(faults).toEqual([]);
  expect(cuts.length).toBeGreaterThan(0);
}

const longTest = all ? 3_600_000 : 120_000;
const share = (inAll: number, inSample: number): number => (all ? inAll : inSample);

describe('power that goes at any write', { tags: ['never-half-a-file'] }, () => {
  it('of a small preparation: every write of a fresh stick, in both modes', { timeout: longTest }, async () => {
    const fresh = small.filter(({ name }) => name.endsWith('fresh stick'));
    const cuts = fresh.flatMap(plainCuts);
    await tryAll('fresh sticks, in order', sample(cuts, share(cuts.length, 26), seeded(seed)));
  });

  it('of a small preparation of a stick that was not empty, or not finished', { timeout: longTest }, async () => {
    const others = small.filter(({ name }) => !name.endsWith('fresh stick'));
    const cuts = others.flatMap(plainCuts);
    await tryAll('used sticks, in order', sample(cuts, share(cuts.length, 30), seeded(seed + 1)));
  });

  it('inside a write of several sectors', { timeout: longTest }, async () => {
    const cuts = small.flatMap(tornCuts);
    await tryAll('torn writes', sample(cuts, share(cuts.length, 5), seeded(seed + 2)));
  });

  it('with what was not flushed lost or kept in any combination', { timeout: longTest }, async () => {
    const random = seeded(seed + 3);
    const cuts = small.flatMap((scenario) => unorderedCuts(scenario, share(3, 1), random));
    await tryAll('unordered writes', sample(cuts, share(cuts.length, 20), random));
  });

  it('of a larger preparation', { timeout: longTest }, async () => {
    const random = seeded(seed + 4);
    const ordered = [...plainCuts(large), ...tornCuts(large)];
    const unordered = unorderedCuts(large, 1, random);
    const cuts = [...sample(ordered, share(300, 2), random), ...sample(unordered, share(300, 4), random)];
    await tryAll('larger archive', cuts);
  });
});

needs({ 'fsck.fat': 'dosfstools' })('all of them were also repaired by fsck.fat and finished then', () => {
  expect(withFsck).toBe(true);
});
