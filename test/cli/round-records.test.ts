import { mkdirSync, mkdtempSync, readdirSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { reportSchema } from '../../src/core/report/report-schema.ts';
import { stickwright } from '../fixtures/command.ts';
import { makeSamplePackages } from '../fixtures/sample-round.ts';
import { talk as talkTo } from '../fixtures/talk.ts';
import { makeFatImage } from '../fixtures/volumes/scratch.ts';
import { needs } from '../outside/needs.ts';

const folder = mkdtempSync(join(tmpdir(), 'stickwright records ü-'));
afterAll(() => rmSync(folder, { recursive: true, force: true }));

const place = join(folder, 'north.round');
const environment = {
  STICKWRIGHT_SHELF: join(folder, 'shelf'),
  STICKWRIGHT_COLUMNS: join(folder, 'columns.json'),
  STICKWRIGHT_ROUND: place,
  STICKWRIGHT_WHO: 'Ada',
  STICKWRIGHT_FAMILIES: 'samples/families',
};
const round = (...words: readonly string[]) => stickwright(['round', ...words], environment);
const json = (...words: readonly string[]) => {
  const { stdout, stderr, exitCode } = round(...words, '--json');
  expect(stderr).toBe('');
  const document = reportSchema.parse(JSON.parse(stdout)) as Record<string, unknown>;
  expect(document.exitCode).toBe(exitCode);
  return document;
};

const list =
  'Room;Label;Running;Serial\r\nHall;K2-second 75/5B;reed.746;SD1\r\nGym;K2-second 75/5B;reed.746;SD2\r\nLab;K2-second 65/5B;reed.746;SD3\r\n';

beforeAll(async () => {
  const packages = makeSamplePackages(join(folder, 'packages'));
  stickwright(['shelf', 'add', ...packages, '--from', 'https://support.example/'], environment);
  const path = join(folder, 'north.csv');
  writeFileSync(path, list);
  expect(round('plan', path).exitCode).toBe(0);
  const image = await makeFatImage(join(folder, 'a.img'), 64 * 2 ** 20, { kind: 'fat32', partitioned: true });
  expect(round('prepare', '--stick', image, '--yes').exitCode).toBe(0);
});

describe('the records of a round, as a shell sees them', () => {
  it('go from open to done, with the exit code of each answer', () => {
    expect(json('status')).toMatchObject({ command: 'round status', exitCode: 1, counts: { prepared: 3 } });
    const done = round('record', 'hall', '--build', 'reed.1717', '--at', '2026-11-03 07:40');
    expect([done.exitCode, done.stderr]).toEqual([0, '']);
    expect(done.stdout).toContain('Recorded: Hall, done, shows reed.1717');
    expect(round('record', 'Gym', '--build', 'reed.1744').exitCode).toBe(1);
    expect(round('record', 'Gim', '--build', 'reed.1717').stdout).toContain('Near it: "Gym"');
    const failed = json('record', 'Gym', '--failed', 'E17 "no file"');
    expect(failed).toMatchObject({
      exitCode: 0,
      recorded: [{ outcome: 'failed', who: 'Ada' }],
      ladder: { isOver: false },
    });
    const twice = round('record', 'Gym', '--failed', 'E18', '--who', 'Bo');
    expect(twice.stdout).toMatch(/To the maker, ready to copy[\s\S]*E17 "no file"[\s\S]*E18/);
    expect(json('ladder', 'SD2')).toMatchObject({ exitCode: 0, ladder: { isOver: true, tries: [{}, {}] } });
  });

  it('say what is wrong with the words, and record nothing', () => {
    const before = json('status').records;
    const usage = [
      ['record'],
      ['record', 'Hall', '--build', '1', '--failed', 'x'],
      ['record', 'Hall', '--build', 'reed.1717', '--at', 'soon'],
      ['record', 'Hall', '--build', 'reed.1717', '--at', '2099-01-01 07:00'],
      ['export'],
    ];
    for (const words of usage) expect([words, round(...words).exitCode]).toEqual([words, 2]);
    expect(round('record', '--from', join(folder, 'gone.csv')).exitCode).toBe(3);
    expect(round('merge', join(folder, 'gone')).exitCode).toBe(3);
    expect(json('status').records).toEqual(before);
  });

  it('take a filled-in export, once; give the list back in its own form', () => {
    const out = join(folder, 'out.csv');
    const report = join(folder, 'report.html');
    expect(round('export', '--csv', out, '--report', report).exitCode).toBe(0);
    const text = readFileSync(out, 'utf8');
    expect(text.split('\r\n')[1]).toMatch(
      /^Hall;K2-second 75\/5B;reed\.1717;SD1;done;reed\.1717;2026-11-03T07:40:00[+-]\d\d:\d\d;Ada;/,
    );
    expect(readFileSync(report, 'utf8')).toContain('E17 &quot;no file&quot;');
    expect(round('export', '--csv', out).exitCode).toBe(3);
    expect(readFileSync(join(folder, 'north.csv'), 'utf8')).toBe(list);
    writeFileSync(out, text.replace(/(Lab;.*);prepared;;;;;/, '$1;done;reed.1717;;Bo;;'));
    const first = json('record', '--from', out);
    expect(first).toMatchObject({ exitCode: 0, recorded: [{ room: 'Lab', who: 'Bo' }] });
    expect(json('record', '--from', out)).toMatchObject({ exitCode: 0, recorded: [] });
    const { stdout } = round('export', '--csv', '-');
    expect(stdout.split('\r\n')[3]).toContain('Lab;K2-second 65/5B;reed.1717;SD3;done;reed.1717;');
  });

  it('merge from another copy, also one whose last line is torn, and can be withdrawn', () => {
    const other = join(folder, 'other.round');
    mkdirSync(join(other, 'records'), { recursive: true });
    for (const name of readdirSync(join(place, 'records'))) {
      const bytes = readFileSync(join(place, 'records', name));
      writeFileSync(join(other, 'records', name), bytes.subarray(0, bytes.length - 3));
    }
    const fresh = join(folder, 'fresh.round');
    for (const name of readdirSync(place)) {
      if (name !== 'records') {
        mkdirSync(fresh, { recursive: true });
        writeFileSync(join(fresh, name), readFileSync(join(place, name)));
      }
    }
    const torn = json('merge', other, '--round', fresh);
    expect(torn.findings).toContainEqual(expect.objectContaining({ code: 'record/damaged-line' }));
    // The whole lines are in the place they were torn from; once they are here, nothing is damaged any more.
    expect(json('merge', place, '--round', fresh)).toMatchObject({ exitCode: 0 });
    const merged = json('status', '--round', fresh);
    expect(merged.findings).not.toContainEqual(expect.objectContaining({ code: 'record/damaged-line' }));
    expect(merged.counts).toEqual(json('status').counts);
    const [wrong] = (merged.records as { id: string; kind: string; room: string }[]).filter(
      ({ room }) => room === 'Hall',
    );
    const gone = round('record', '--withdraw', wrong?.id ?? '', '--because', 'other hall', '--round', fresh);
    expect([gone.exitCode, gone.stdout]).toEqual([0, expect.stringContaining('no longer counts')]);
    expect(json('status', '--round', fresh)).toMatchObject({ counts: { done: 1 } });
  });
});

describe('round record at a terminal', () => {
  const talk = (words: readonly string[], answers: readonly (readonly [string, string])[]) =>
    talkTo(['round', 'record', ...words], answers, { environment });

  needs({ python3: 'python3' })('asks room, outcome, words and stick, and goes on until nobody names a room', () => {
    const { seen, code } = talk(
      [],
      [
        ['Room, asset tag', 'SD3\r'],
        ['How did it go?', '\u001b[B\r'],
        ['exact words', 'dark screen\r'],
        ['tag of the stick', '\r'],
        ['Room, asset tag', '\r'],
      ],
    );
    // Bo said a moment ago that this room is done: that is shown, and is not settled.
    expect(code).toBe(4);
    expect(seen).toContain('Two people disagree about a room');
    expect(seen).toContain('Failure ladder');
    expect(json('status')).toMatchObject({
      rooms: [{}, {}, { progress: 'failed', visits: [{}, { text: 'dark screen' }] }],
    });
  });

  needs({ python3: 'python3' })(
    'ends with 130 at Ctrl-C, and has recorded nothing of the room that was asked about',
    () => {
      const before = json('status').records;
      const { code } = talk(['Hall'], [['How did it go?', '\u0003']]);
      expect(code).toBe(130);
      expect(json('status').records).toEqual(before);
    },
  );
});
