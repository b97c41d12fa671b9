import { mkdirSync, mkdtempSync, readdirSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { roundSchema } from '../../src/core/model/round.ts';
import { reportSchema } from '../../src/core/report/report-schema.ts';
import { stickwright } from '../fixtures/command.ts';
import { makeSamplePackages } from '../fixtures/sample-round.ts';
import { makeFatImage } from '../fixtures/volumes/scratch.ts';

const folder = mkdtempSync(join(tmpdir(), 'stickwright round cli ü-'));
afterAll(() => rmSync(folder, { recursive: true, force: true }));

const place = join(folder, 'sample.round');
const environment = {
  STICKWRIGHT_SHELF: join(folder, 'shelf'),
  STICKWRIGHT_COLUMNS: join(folder, 'columns.json'),
  STICKWRIGHT_ROUND: place,
  STICKWRIGHT_WHO: 'M. Ferris',
};
const round = (...words: readonly string[]) => stickwright(['round', ...words], environment);
const json = (stdout: string) => reportSchema.parse(JSON.parse(stdout)) as Record<string, unknown>;
const image = (name: string) =>
  makeFatImage(join(folder, `${name}.img`), 64 * 2 ** 20, { kind: 'fat32', partitioned: true });

beforeAll(() => {
  const packages = makeSamplePackages(join(folder, 'packages'));
  const added = stickwright(['shelf', 'add', ...packages, '--from', 'https://support.example/'], environment);
  if (added.exitCode !== 0) throw new Error(added.stdout);
});

describe('a round, as a shell sees it', () => {
  it('plans the sample district: not ready, because rooms are stopped; a dry run keeps nothing', () => {
    const list = 'samples/rooms/quillhaven.csv';
    const dry = round('plan', list, '--sticks', '4', '--dry-run');
    expect([dry.exitCode, dry.stderr]).toEqual([1, '']);
    expect(dry.stdout).toContain('Rooms that need a person before a stick');
    expect(readdirSync(folder)).not.toContain('sample.round');
    const { exitCode, stdout, stderr } = round('plan', list, '--sticks', '4', '--json');
    expect([exitCode, stderr]).toEqual([1, '']);
    const document = json(stdout);
    expect(document).toMatchObject({ command: 'round plan', exitCode: 1, kept: true, place });
    expect(roundSchema.parse(document.round).rooms).toHaveLength(51);
  });

  it('ends with 0 where all is well, 4 where a room cannot be told', () => {
    const list = join(folder, 'two.csv');
    writeFileSync(list, 'Room,Label,Running\nHall,K2-second 75/5B,reed.746\nGym,VX+098+EU,v3.9.0_20231120\n');
    expect(round('plan', list).exitCode).toBe(0);
    const open = join(folder, 'open.csv');
    writeFileSync(open, 'Room,Label,Running\nHall,K2-second 75/5B,\n');
    expect(round('plan', open, '--dry-run').exitCode).toBe(4);
  });

  it('prepares stick after stick, goes on where it stopped, and every stick verifies', async () => {
    const sticks = [await image('one'), await image('two')];
    const first = round('prepare', '--stick', sticks[0] ?? '', '--yes');
    expect([first.exitCode, first.stdout]).toEqual([
      0,
      expect.stringMatching(/Tag {8}[A-Z0-9]{3}-[A-Z0-9]{3} {4}load A {4}in-os/),
    ]);
    expect(first.stdout).toContain('1 stick of load B');
    const still = round('prepare', '--stick', sticks[0] ?? '', '--yes');
    expect([still.exitCode, still.stdout]).toEqual([1, expect.stringContaining('[round/stick-still-out]')]);
    const second = round('prepare', '--stick', sticks[1] ?? '', '--yes', '--json');
    expect(second.exitCode).toBe(0);
    expect(json(second.stdout)).toMatchObject({
      command: 'round prepare',
      left: [],
      sticks: [{ load: 'B', code: expect.stringMatching(/-/) }],
    });
    for (const stick of sticks) expect([0, 4]).toContain(stickwright(['verify', stick]).exitCode);
    const done = round('prepare', '--stick', sticks[0] ?? '', '--yes');
    expect([done.exitCode, done.stdout]).toEqual([
      0,
      expect.stringContaining('Every stick that the round wants is prepared.'),
    ]);
  });

  it('refuses wrong words', () => {
    expect(round('prepare').exitCode).toBe(2);
    expect(round('prepare', '--stick', 'x.img').exitCode).toBe(2);
    expect(round('prepare', '--load', 'Q', '--dry-run').exitCode).toBe(2);
    expect(round('plan', 'samples/rooms/quillhaven.csv', '--sticks', '0').exitCode).toBe(2);
    expect(round('plan', 'samples/rooms/quillhaven.csv', '--columns', 'colour=Red').exitCode).toBe(2);
    expect(round('plan', join(folder, 'nowhere.csv')).exitCode).toBe(3);
    const empty = join(folder, 'empty.round');
    mkdirSync(empty);
    expect(round('prepare', '--round', empty, '--dry-run').exitCode).toBe(3);
  });
});
