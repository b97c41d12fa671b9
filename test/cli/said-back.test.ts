import { existsSync, mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { lookOf } from '../../src/cli/frame/screen.ts';
import { stickwright } from '../fixtures/command.ts';
import { makeArchive, panelLabel } from '../fixtures/desk.ts';
import { makeSamplePackages } from '../fixtures/sample-round.ts';
import { talk } from '../fixtures/talk.ts';
import { makeFatImage } from '../fixtures/volumes/scratch.ts';

const folder = mkdtempSync(join(tmpdir(), 'stickwright said back-'));
afterAll(() => rmSync(folder, { recursive: true, force: true }));

const environment = {
  STICKWRIGHT_SHELF: join(folder, 'shelf'),
  STICKWRIGHT_COLUMNS: join(folder, 'columns.json'),
  STICKWRIGHT_ROUND: join(folder, 'north.round'),
  STICKWRIGHT_WHO: 'Ada',
};
const round = (...words: readonly string[]) => stickwright(['round', ...words], environment);
const plain = (text: string): string => text.replace(/\s+/g, ' ');

/** Twelve rows: nine rooms; one has no label, one no room, one a mode that is none. UTF-8 without a mark. */
const rooms = ['Aula', 'Bücherei', 'Hall', 'Gym', 'Lab', 'Office', 'Room 1', 'Room 2', 'Room 3'];
const list = [
  'Room;Label;Running;Mode;Remarks',
  ...rooms.map((room, at) => `${room};K2-second 75/5B;reed.746;;${at === 2 ? '=cmd()' : 'fine'}`),
  'Store;;reed.746;;no plate',
  ';K2-second 75/5B;reed.746;;',
  'Studio;K2-second 75/5B;reed.746;reset;',
].join('\r\n');

const path = join(folder, 'north.csv');
beforeAll(() => {
  const packages = makeSamplePackages(join(folder, 'packages'));
  stickwright(['shelf', 'add', ...packages, '--from', 'https://support.example/'], environment);
  writeFileSync(path, `${list}\r\n`);
});

describe('the rows of a room list', () => {
  it('are all counted, on plan and status, and a dry run says that no stick is prepared', () => {
    const counted = '12 rows: 9 rooms, 3 cannot be used';
    const dry = round('plan', path, '--dry-run');
    expect(plain(dry.stdout)).toContain(counted);
    for (const why of ['room/label-missing', 'room/room-missing', 'room/mode-unknown'])
      expect(dry.stdout).toContain(`[${why}]`);
    const clean = join(folder, 'clean.csv');
    writeFileSync(clean, 'Room;Label;Running\r\nHall;K2-second 75/5B;reed.746\r\n');
    const answer = plain(round('plan', clean, '--dry-run').stdout);
    expect(answer).toContain('would get its load; nothing was kept and no stick is prepared.');
    expect(answer).not.toContain('has its stick');
    expect(round('plan', path).exitCode).toBe(4);
    expect(plain(round('status').stdout)).toContain(counted);
  });

  it('all come back with an outcome, with a byte order mark for their letters, and nothing that would run', () => {
    const out = join(folder, 'back.csv');
    expect(round('export', '--csv', out).exitCode).toBe(0);
    const bytes = readFileSync(out);
    expect([...bytes.subarray(0, 3)]).toEqual([0xef, 0xbb, 0xbf]);
    const [head, ...rows] = bytes.toString('utf8').slice(1).trimEnd().split('\r\n');
    const at = head?.split(';').indexOf('Outcome') ?? -1;
    const outcomes = rows.map((row) => row.split(';')[at]);
    expect(outcomes).toEqual([...rooms.map(() => 'open'), ...Array.from({ length: 3 }, () => 'cannot be used')]);
    expect(rows[9]).toContain('the label of "');
    expect(rows[2]).toContain(";'=cmd()");
    // Our own export is a filled-in list again, and these rows say nothing was done.
    expect(round('record', '--from', out).stdout).not.toContain('cannot be used" is');
  });
});

describe('the build that runs on the panel', { tags: ['doubt-stays'] }, () => {
  it('is missed where nobody said it: on the command line, in a list, and for ever after on the stick', async () => {
    const archive = await makeArchive(folder);
    const stick = await makeFatImage(join(folder, 'stick.img'), 64 * 2 ** 20, { kind: 'fat32', partitioned: true });
    const words = ['prepare', archive, '--mode', 'recovery', '--label', panelLabel, '--stick', stick, '--yes'];
    const codes = ({ stdout }: { readonly stdout: string }): readonly string[] =>
      (JSON.parse(stdout) as { readonly findings: readonly { readonly code: string }[] }).findings.map(
        ({ code }) => code,
      );
    expect(codes(stickwright([...words, '--json']))).toContain('shelf/running-unknown');
    const verified = stickwright(['verify', stick, '--replugged', '--json']);
    expect(verified.stdout).toContain('shelf/running-unknown');
    expect(verified.exitCode).toBe(4);
    const said = stickwright([...words, '--running', 'reed.746', '--json']);
    expect(codes(said).filter((code) => code.startsWith('shelf/running'))).toEqual([]);
    const found = stickwright(['shelf', 'find', '--label', '86 in 24P.M3', '--json'], environment);
    expect([found.exitCode, codes(found)]).toEqual([4, expect.arrayContaining(['shelf/running-not-said'])]);
    const unsaid = join(folder, 'unsaid.csv');
    writeFileSync(unsaid, 'Room;Label;Running\r\nShop;86 in 24P.M3;\r\n');
    const planned = round('plan', unsaid, '--dry-run');
    expect([planned.exitCode, planned.stdout]).toEqual([4, expect.stringContaining('[round/running-not-said]')]);
    expect(planned.stdout).toMatch(/^UNPROVEN: 1 room with something open/m);
  });
});

describe('a tag outside of a round', () => {
  it('carries code, label, build and what it does to the panel; no file is written over', async () => {
    const archive = await makeArchive(folder);
    const stick = await makeFatImage(join(folder, 'tagged.img'), 64 * 2 ** 20, { kind: 'fat32', partitioned: true });
    const tag = join(folder, 'tag.html');
    const words = ['prepare', archive, '--mode', 'recovery', '--label', panelLabel, '--running', 'reed.746'];
    const made = stickwright([...words, '--stick', stick, '--yes', '--tag', tag]);
    const code = /Stick code +(\w{3}-\w{3})/.exec(made.stdout)?.[1] ?? 'none';
    const page = readFileSync(tag, 'utf8');
    for (const word of [code, panelLabel, 'reed.1717', 'WIPES THE PANEL', 'Sedge classroom panels', 'NOT PROVEN'])
      expect(page, word).toContain(word);
    const before = readFileSync(tag);
    const again = stickwright([...words, '--stick', stick, '--yes', '--tag', tag]);
    expect([again.exitCode, again.stderr]).toEqual([2, expect.stringContaining('is there already')]);
    expect(readFileSync(tag).equals(before)).toBe(true);
    const none = join(folder, 'none.html');
    const wrong = words.map((word) => (word === panelLabel ? 'K3-second 75/5B' : word));
    expect(stickwright([...wrong, '--stick', stick, '--yes', '--tag', none]).exitCode).toBe(1);
    expect(existsSync(none)).toBe(false);
  });
});

describe('at a terminal', () => {
  const typed = 'Model: "K2 second 75-5B".';

  it('a label that is written otherwise is shown back, and counts only when somebody says so', () => {
    const yes = talk(['label', typed], [['plate says?', 'y\r']]);
    expect([yes.code, yes.seen]).toEqual([0, expect.stringContaining('is read as "K2-second 75/5B"')]);
    expect(yes.seen).toContain('factory K2');
    const no = talk(['label', typed], [['plate says?', 'n\r']]);
    expect([no.code, no.seen]).toEqual([1, expect.stringContaining('[label/read-otherwise]')]);
    const nobody = stickwright(['label', typed]);
    expect([nobody.exitCode, plain(nobody.stdout)]).toEqual([
      1,
      expect.stringContaining('type exactly this: "K2-second 75/5B"'),
    ]);
  });

  it('the same failure twice within a minute is asked about, and counts once without an answer', () => {
    const failed = ['round', 'record', 'Gym', '--failed', 'No update file found'];
    expect(round(...failed.slice(1)).exitCode).toBe(0);
    const refused = round(...failed.slice(1));
    expect([refused.exitCode, refused.stdout]).toEqual([1, expect.stringContaining('[record/failed-just-now]')]);
    const no = talk(failed, [['second try?', 'n\r']], { environment });
    expect(no.code).toBe(1);
    const yes = talk(failed, [['second try?', 'y\r']], { environment });
    expect(yes.code).toBe(0);
    const status = JSON.parse(round('status', '--json').stdout) as {
      readonly counts: Readonly<Record<string, number>>;
    };
    expect(status.counts.failed).toBe(1);
    expect(round('ladder', 'Gym').stdout.match(/No update file found/g)?.length).toBeGreaterThan(1);
  });

  it('of no columns has 80', () => {
    expect(lookOf({ isTTY: true, columns: 0 }, {})).toMatchObject({ columns: 80 });
    expect(lookOf({ isTTY: true, columns: 40 }, {})).toMatchObject({ columns: 40 });
  });
});
