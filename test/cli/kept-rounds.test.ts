import { cpSync, mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, beforeAll, describe, expect, test } from 'vitest';
import { stickwright } from '../fixtures/command.ts';
import { unpackDocuments } from '../fixtures/version-0.1.0/unpack.ts';
import { makeFatImage } from '../fixtures/volumes/scratch.ts';

let place: string;
const at = (...names: readonly string[]): string => join(place, ...names);
const desk = (words: readonly string[]) =>
  stickwright(words, {
    STICKWRIGHT_FAMILIES: at('families'),
    STICKWRIGHT_SHELF: at('shelf'),
    STICKWRIGHT_COLUMNS: at('none', 'columns.json'),
  });
const newStick = (name: string): Promise<string> =>
  makeFatImage(at(name), 40 * 2 ** 20, { kind: 'fat32', partitioned: true });

beforeAll(() => {
  place = mkdtempSync(join(tmpdir(), 'stickwright kept rounds-'));
  unpackDocuments(place);
});
afterAll(() => rmSync(place, { recursive: true, force: true }));

describe('a round that version 0.1.0 planned', () => {
  const tags = ['doubt-stays', 'work-goes-on'];

  test('is read, and is never more than unproven', { tags }, () => {
    const round = ['--round', at('rooms.round')];
    const status = desk(['round', 'status', ...round]);
    expect(status.stdout).toMatch(/Rooms +2: 1 done, 1 prepared/);
    expect(status.stdout).toContain('[round/older-plan]');
    const cards = desk(['round', 'cards', ...round]);
    expect([cards.exitCode, cards.stdout]).toEqual([4, expect.stringContaining('[cards/unproven]')]);
    for (const name of ['cards.html', 'tags.html', 'cover.html']) {
      expect(readFileSync(at('rooms.round/print', name), 'utf8'), name).toContain('NOT PROVEN');
    }
    expect(desk(['round', 'ladder', 'Fernmoor Hall', ...round]).exitCode).not.toBe(3);
    const exported = desk(['round', 'export', '--csv', at('done.csv'), ...round]);
    expect([exported.exitCode, exported.stdout]).toEqual([4, expect.stringContaining('[round/older-plan]')]);
  });

  test('prepares sticks that carry its doubt', { tags }, async () => {
    cpSync(at('rooms.round'), at('old.round'), { recursive: true });
    rmSync(at('old.round/records'), { recursive: true });
    const stick = await newStick('old.img');
    const words = ['--round', at('old.round'), '--shelf', at('shelf'), '--load', 'A', '--stick', stick, '--yes'];
    const prepared = desk(['round', 'prepare', ...words]);
    expect([prepared.exitCode, prepared.stdout]).toEqual([4, expect.stringContaining('[round/older-plan]')]);
    const verified = desk(['verify', stick, '--replugged']);
    expect([verified.exitCode, verified.stdout]).toEqual([4, expect.stringContaining('round/older-plan')]);
  });
});

describe('a round that is planned now', () => {
  const round = () => ['--round', at('new.round')];

  test('carries what the shelf could not prove to stick, card and status', { tags: ['doubt-stays'] }, async () => {
    const planned = desk(['round', 'plan', at('rooms.csv'), '--shelf', at('shelf'), ...round()]);
    expect([planned.exitCode, planned.stdout]).toEqual([4, expect.stringContaining('[shelf/unproven-when-added]')]);
    const cards = (): string => {
      desk(['round', 'cards', ...round()]);
      return readFileSync(at('new.round/print/cards.html'), 'utf8');
    };
    expect(cards().match(/NOT PROVEN/g)).toHaveLength(1); // one of the two rooms

    const sticks = [await newStick('1.img'), await newStick('2.img')];
    const made = desk(['round', 'prepare', ...sticks.flatMap((stick) => ['--stick', stick]), '--yes', ...round()]);
    expect(made.exitCode).toBe(4);
    const verdicts = sticks.map((stick) => desk(['verify', stick, '--replugged']).exitCode);
    expect(verdicts.toSorted()).toEqual([0, 4]);
    expect(cards().match(/NOT PROVEN/g)).toHaveLength(1);
    const { stdout } = desk(['round', 'status', ...round()]);
    expect(stdout).toContain('[record/stick-unproven]');
    expect(
      stdout
        .match(/^ {2}\S{3}-\S{3} +[AB] +(ready|unproven)/gm)
        ?.map((line) => line.split(/ +/).at(-1))
        .toSorted(),
    ).toEqual(['ready', 'unproven']);
  });

  test('is believed by nobody once it was edited', { tags: ['doubt-stays'] }, () => {
    const path = at('new.round/round.json');
    const whole = readFileSync(path, 'utf8');
    const edits: readonly (readonly [edit: (text: string) => string, reason: string])[] = [
      [
        (text) => text.replace('"unproven": [\n        "archive/no-published-hash"\n      ]', '"unproven": []'),
        'changed after',
      ],
      [(text) => text.replace('"wipes": false', '"wipes": true'), 'changed after'],
      [(text) => text.replace('{', '{\n  "mode": "recovery",'), 'two members that are called "mode"'],
      [(text) => text.replace('{', '{\n  "hint": "x",'), 'hint'],
    ];
    for (const [edit, reason] of edits) {
      const edited = edit(whole);
      expect(edited).not.toBe(whole);
      writeFileSync(path, edited);
      const { exitCode, stderr } = desk(['round', 'status', ...round()]);
      expect([exitCode, stderr.replace(/\s+/g, ' ')]).toEqual([3, expect.stringContaining(reason)]);
    }
    const commands = [
      ['prepare', '--dry-run'],
      ['cards'],
      ['record', 'Fernmoor Hall', '--skipped', 'x'],
      ['ladder', 'Fernmoor Hall'],
      ['export', '--csv', at('never.csv')],
    ];
    for (const words of commands) {
      const { exitCode, stderr } = desk(['round', ...words, ...round()]);
      const said = stderr.replace(/\s+/g, ' ');
      expect([exitCode, said], words[0]).toEqual([3, expect.stringContaining('round.json')]);
      expect(said).toContain('Plan the round again');
    }
    writeFileSync(path, whole);
  });
});
