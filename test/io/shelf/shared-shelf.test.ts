import { type ChildProcess, spawn } from 'node:child_process';
import { mkdirSync, mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { createInterface } from 'node:readline';
import { setTimeout as wait } from 'node:timers/promises';
import { afterAll, describe, expect, it } from 'vitest';
import type { ShelvedPackage } from '../../../src/core/shelf/shelf-record.ts';
import { openShelf } from '../../../src/io/shelf/open-shelf.ts';
import { checkShelf } from '../../../src/workflows/shelf-check.ts';
import { idle, makePackage } from '../../fixtures/shelf/desk.ts';

const root = mkdtempSync(join(tmpdir(), 'stickwright-shared-'));
afterAll(() => rmSync(root, { recursive: true, force: true }));

interface Said {
  readonly archive: string;
  readonly state: 'added' | 'there' | 'restored' | 'refused' | 'failed';
  readonly id?: string;
  readonly sha256?: string;
  readonly codes: readonly string[];
  readonly error?: unknown;
}

/** The same numbers every time (Park and Miller, "minimal standard" generator, 1988). */
function numbers(start: number): (below: number) => number {
  let state = start;
  return (below) => {
    state = (state * 48_271) % 2_147_483_647;
    return state % below;
  };
}

const shuffled = <T>(items: readonly T[], random: (below: number) => number): readonly T[] =>
  items
    .map((item) => ({ item, at: random(1_000_000) }))
    .toSorted((a, b) => a.at - b.at)
    .map(({ item }) => item);

/** A real process; what it wrote before it was killed counts. */
function start<Line>(script: string, words: readonly string[]) {
  const child: ChildProcess = spawn(process.execPath, [`test/fixtures/shelf/${script}`, ...words], {
    stdio: ['ignore', 'pipe', 'inherit'],
  });
  const lines: Line[] = [];
  const ended = new Promise<NodeJS.Signals | number | null>((resolve) => {
    child.on('close', (code, signal) => resolve(signal ?? code));
  });
  if (child.stdout !== null) createInterface(child.stdout).on('line', (line) => lines.push(JSON.parse(line) as Line));
  return { child, lines, ended };
}

describe('one shelf and eight desks', () => {
  it('loses nothing and shows nothing by halves, through twelve kills and with readers all the while', async () => {
    const random = numbers(20_260_914);
    const folder = join(root, 'shelf');
    const twins = join(root, 'twins');
    mkdirSync(twins);
    const archives: string[] = [];
    for (let at = 0; at < 24; at++) archives.push(await makePackage(root, packageNameOf(at), at * 10));
    // Six names with another content each: of such a pair only one may ever be taken in.
    const rivals: string[] = [];
    for (let at = 0; at < 6; at++) rivals.push(await makePackage(twins, packageNameOf(at), 5_000 + at * 10));
    const readers = [1, 2].map(() => start<Record<string, unknown>>('reader.mjs', [folder]));
    const desk = (): ReturnType<typeof start<Said>> =>
      start<Said>('writer.mjs', [folder, ...shuffled([...archives, ...rivals], random)]);
    const desks = Array.from({ length: 8 }, desk);
    let kills = 0;
    while (kills < 12) {
      await wait(20 + random(180));
      // Only desks that are at work: one that is still starting has nothing to lose.
      const working = desks.filter(
        ({ child, lines }) => child.exitCode === null && child.signalCode === null && lines.length > 0,
      );
      const victim = working[random(Math.max(1, working.length))];
      if (victim === undefined) {
        if (desks.every(({ child }) => child.exitCode !== null || child.signalCode !== null)) desks.push(desk());
        continue;
      }
      victim.child.kill('SIGKILL');
      // It may have come to its end by itself just before.
      if ((await victim.ended) === 'SIGKILL') kills += 1;
      desks.push(desk());
    }
    const ends = await Promise.all(desks.map(({ ended }) => ended));
    for (const { child } of readers) child.kill('SIGKILL');
    await Promise.all(readers.map(({ ended }) => ended));

    const said = desks.flatMap(({ lines }) => lines);
    expect(ends.filter((end) => end !== 0 && end !== 'SIGKILL')).toEqual([]);
    expect(ends.filter((end) => end === 'SIGKILL')).toHaveLength(12);
    expect(said.filter(({ state }) => state === 'failed')).toEqual([]);

    const looks = readers.flatMap(({ lines }) => lines);
    expect(looks.filter((look) => !('looked' in look))).toEqual([]);
    expect(looks.length).toBeGreaterThan(20);

    const { shelf } = await openShelf({ folder, from: 'named' }, { make: false });
    const { packages, damaged } = await shelf.list();
    expect(damaged).toEqual([]);
    expectKept(said, packages);
    expectOneContentEach(said);
    // Every archive without a rival was offered by every desk, so it is there.
    for (const archive of archives.slice(6)) {
      expect(packages.map(({ record }) => record.name)).toContain(archive.slice(root.length + 1));
    }
    const report = await checkShelf([], shelf, idle);
    // No hash of these was ever published.
    const expected = ['shelf/unfinished', 'shelf/sound', 'shelf/unproven-when-added'];
    const stops = report.findings.filter(({ code }) => !expected.includes(code));
    expect(stops.filter(({ code }) => code !== 'shelf/name-twice')).toEqual([]);
  }, 120_000);
});

const packageNameOf = (at: number): string => `reed.${740 + at}_${1 + (at % 9)}B_second_K${1 + (at % 3)}.zip`;

/** What a desk was told is on the shelf is on the shelf. */
function expectKept(said: readonly Said[], packages: readonly ShelvedPackage[]): void {
  const there = new Set(packages.map(({ record }) => record.sha256));
  const told = said.filter(({ state }) => state === 'added' || state === 'there');
  expect(told.length).toBeGreaterThan(100);
  expect(told.filter(({ sha256 }) => !there.has(sha256 ?? ''))).toEqual([]);
}

/** No two desks were ever told that both contents of one name are on the shelf. */
function expectOneContentEach(said: readonly Said[]): void {
  const contents = new Map<string, Set<string>>();
  for (const { archive, state, sha256 } of said) {
    if (state === 'refused' || sha256 === undefined) continue;
    const name = archive.slice(archive.lastIndexOf('/') + 1);
    contents.set(name, (contents.get(name) ?? new Set()).add(sha256));
  }
  expect([...contents].filter(([, all]) => all.size > 1)).toEqual([]);
  expect(said.filter(({ codes }) => codes.includes('shelf/name-taken')).length).toBeGreaterThan(0);
}
