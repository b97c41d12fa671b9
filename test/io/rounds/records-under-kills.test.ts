import { randomInt } from 'node:crypto';
import { mkdir, mkdtemp, readdir, readFile, rm } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { listRecords, mergeRecords } from '../../../src/io/rounds/merge-records.ts';
import { runWriter, type WriterWish } from '../../fixtures/records/start-writers.ts';

/** A longer run by hand: STICKWRIGHT_RECORD_ROUNDS=50. */
const rounds = Number(process.env.STICKWRIGHT_RECORD_ROUNDS ?? 1);

let folder = '';
beforeAll(async () => {
  folder = await mkdtemp(join(tmpdir(), 'stickwright-records-'));
});
afterAll(async () => {
  await rm(folder, { recursive: true, force: true });
});

const totals = { acknowledged: 0, killed: 0, whole: 0, broken: 0, files: 0 };

async function expectKept(place: string, acknowledged: readonly string[]): Promise<void> {
  const { records, damaged } = await listRecords(place);
  const ids = new Set(records.map(({ id }) => id));
  expect(acknowledged.filter((id) => !ids.has(id))).toEqual([]);
  totals.whole += records.length;
  totals.broken += damaged.length;
  totals.files += (await readdir(join(place, 'records'))).length;
}

const wishFor = (place: string, number: number, who: string): WriterWish => ({
  folder: place,
  who,
  first: number * 100_000,
  groups: 400,
  lines: randomInt(1, 4),
  groupsARun: randomInt(1, 40),
  killAfterMs: randomInt(0, 250),
});

describe('records of processes that are killed', () => {
  it('of one person at one desk, eight at once, keep what was acknowledged, and no line swallows another', async () => {
    for (let round = 0; round < rounds; round++) {
      const place = await mkdtemp(join(folder, 'one-'));
      const writers = Array.from({ length: 8 }, (_, number) => wishFor(place, number, 'Ada'));
      const answers = await Promise.all(writers.map(runWriter));
      const acknowledged = answers.flatMap((one) => one.acknowledged);
      expect(answers.map(({ stderr }) => stderr).join('')).toBe('');
      expect(acknowledged.length).toBeGreaterThan(8);
      totals.killed += answers.filter(({ killed }) => killed).length;
      totals.acknowledged += acknowledged.length;
      await expectKept(place, acknowledged);
      // One who comes after the kills is not held up by whatever they left.
      const later = await runWriter({
        ...wishFor(place, 9, 'Ada'),
        groups: 3,
        killAfterMs: undefined,
      });
      expect(later.acknowledged.length).toBeGreaterThanOrEqual(3);
      await expectKept(place, [...acknowledged, ...later.acknowledged]);
    }
  });

  it('of eight desks, each with its own copy, merge in any order into the same records', async () => {
    for (let round = 0; round < rounds; round++) {
      const places = await Promise.all(Array.from({ length: 8 }, () => mkdtemp(join(folder, 'desk-'))));
      const writers = places.map((place, number) => wishFor(place, number, `W${number % 5}`));
      const answers = await Promise.all(writers.map(runWriter));
      const acknowledged = answers.flatMap((one) => one.acknowledged);
      totals.killed += answers.filter(({ killed }) => killed).length;
      totals.acknowledged += acknowledged.length;
      const targets = await Promise.all([1, 2].map(() => mkdtemp(join(folder, 'all-'))));
      const listings = [];
      for (const target of targets) {
        for (const from of shuffled([...places, ...places])) await mergeRecords(target, from);
        await expectKept(target, acknowledged);
        listings.push((await listRecords(target)).records);
      }
      expect(listings[0]).toEqual(listings[1]);
      // All at the same time, into one folder, also each other's results.
      const together = join(folder, `together-${round}`);
      await mkdir(together);
      await Promise.all(shuffled([...places, ...targets]).map((from) => mergeRecords(together, from)));
      expect((await listRecords(together)).records).toEqual(listings[0]);
    }
  });

  it('leave files that other programs can read line by line', async () => {
    const place = await mkdtemp(join(folder, 'plain-'));
    const wish = { ...wishFor(place, 1, 'Bo'), groups: 5, lines: 2, groupsARun: 5, killAfterMs: undefined };
    await runWriter(wish);
    const [name = ''] = await readdir(join(place, 'records'));
    expect(name).toMatch(/^bo-[a-z0-9.]+-\d{8}T\d{6}Z-[0-9a-f]{12}\.jsonl$/);
    const lines = (await readFile(join(place, 'records', name), 'utf8')).split('\n');
    expect(lines.pop()).toBe('');
    expect(lines.map((line) => JSON.parse(line).who)).toEqual(Array(10).fill('Bo'));
  });

  it('says what was done', () => {
    if (rounds > 2) process.stderr.write(`${JSON.stringify({ rounds, ...totals })}\n`);
    expect(totals.killed).toBeGreaterThan(0);
  });
});

function shuffled<One>(items: readonly One[]): One[] {
  const copy = [...items];
  for (let at = copy.length - 1; at > 0; at--) {
    const other = randomInt(at + 1);
    [copy[at], copy[other]] = [copy[other] as One, copy[at] as One];
  }
  return copy;
}
