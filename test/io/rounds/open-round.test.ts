import { mkdirSync, mkdtempSync, readdirSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, describe, expect, it } from 'vitest';
import type { Round } from '../../../src/core/model/round.ts';
import { copyList } from '../../../src/io/rounds/copy-list.ts';
import { findRoundPlace, openRound } from '../../../src/io/rounds/open-round.ts';
import { copyNameOf } from '../../../src/io/rounds/plan-file.ts';
import { sha256 } from '../../fixtures/desk.ts';

const folder = mkdtempSync(join(tmpdir(), 'stickwright round ü-'));
afterAll(() => rmSync(folder, { recursive: true, force: true }));

const listOf = (text: string): Buffer => Buffer.from(text);

function roundOf(list: Buffer, path = 'rooms.csv'): Round {
  return {
    schema: 'stickwright/round/2',
    plannedAt: '2026-11-02T07:30:00.000Z',
    tool: { name: 'stickwright', version: '0.0.0-test' },
    list: { path, copy: copyNameOf(sha256(list), '.csv'), sha256: sha256(list), columns: { room: 0, label: 1 } },
    mode: 'in-os',
    shelf: '/shelf',
    families: [],
    rooms: [],
    loads: [],
    schedule: { sticks: 0, setUpMinutes: 0, turns: [], totalMinutes: 0 },
  };
}

describe('the folder of a round', () => {
  it('holds no plan until one is saved, and then the plan and its list', async () => {
    const round = openRound(join(folder, 'one.round'), 'M. Ferris');
    expect(await round.plan()).toBeUndefined();
    await expect(round.list()).rejects.toMatchObject({ code: 'round/not-found' });
    const list = listOf('Room,Label\nHall,home-first 75/5B\n');
    await round.savePlan(roundOf(list), list);
    expect(await round.plan()).toEqual(roundOf(list));
    expect(Buffer.from(await round.list())).toEqual(list);
  });

  it('replaces plan and list together, keeps the records, and leaves nothing of the old plan', async () => {
    const place = join(folder, 'two.round');
    const round = openRound(place, 'M. Ferris');
    const lists = ['old', 'new'].map(listOf);
    mkdirSync(join(place, 'records'), { recursive: true });
    writeFileSync(join(place, 'records', 'somebody.jsonl'), 'kept\n');
    for (const list of lists) await round.savePlan(roundOf(list), list);
    expect(readdirSync(place).toSorted()).toEqual([copyNameOf(sha256(listOf('new')), '.csv'), 'records', 'round.json']);
    expect(readFileSync(join(place, 'records', 'somebody.jsonl'), 'utf8')).toBe('kept\n');
  });

  it('shows a reader the old plan with its list or the new one with its own, whenever it looks', async () => {
    const round = openRound(join(folder, 'three.round'), 'M. Ferris');
    const lists = Array.from({ length: 30 }, (_, at) => listOf(`list ${at}`));
    await round.savePlan(roundOf(listOf('list 0')), listOf('list 0'));
    let writing = true;
    const seen = new Set<string>();
    const reader = (async () => {
      // list() compares the bytes with the plan that names them, and throws where they differ.
      while (writing) seen.add(Buffer.from(await round.list()).toString());
    })();
    for (const list of lists) await round.savePlan(roundOf(list), list);
    writing = false;
    await reader;
    expect(seen.size).toBeGreaterThan(1);
    expect([...seen].every((text) => /^list \d+$/.test(text))).toBe(true);
  });

  it('says what is wrong with a plan that is damaged, of a later version, or whose list was changed', async () => {
    const place = join(folder, 'four.round');
    const round = openRound(place, 'M. Ferris');
    const list = listOf('a list');
    await round.savePlan(roundOf(list), list);
    writeFileSync(join(place, copyNameOf(sha256(list), '.csv')), 'another list');
    await expect(round.list()).rejects.toMatchObject({
      code: 'round/unreadable',
      message: expect.stringContaining('changed'),
    });
    for (const [text, words] of [
      ['{"schema":', 'not JSON'],
      ['{"schema":"stickwright/round/7"}', 'stickwright/round/7'],
      ['{"schema":"stickwright/round/1"}', 'no plan of a round'],
    ] as const) {
      writeFileSync(join(place, 'round.json'), text);
      await expect(round.plan()).rejects.toMatchObject({
        code: 'round/unreadable',
        message: expect.stringContaining(words),
      });
    }
  });

  it('keeps the old plan where the new one cannot be written', async () => {
    const place = join(folder, 'five.round');
    const round = openRound(place, 'M. Ferris');
    const list = listOf('kept');
    await round.savePlan(roundOf(list), list);
    rmSync(join(place, 'round.json'));
    mkdirSync(join(place, 'round.json'));
    await expect(round.savePlan(roundOf(listOf('lost')), listOf('lost'))).rejects.toMatchObject({
      code: 'round/write-failed',
    });
    expect(readdirSync(place).filter((name) => name.endsWith('.new'))).toEqual([]);
    expect(readdirSync(place)).toContain(copyNameOf(sha256(list), '.csv'));
  });
});

describe('where a round lies', () => {
  const ask = (question: Partial<Parameters<typeof findRoundPlace>[0]>) =>
    findRoundPlace({ named: undefined, environment: {}, workingFolder: here, ...question });
  const here = join(folder, 'here');
  mkdirSync(here);

  it('is what was named, else the environment, else beside the list, else the only one here', async () => {
    expect(await ask({})).toEqual({ state: 'none', lookedIn: here });
    expect(await ask({ list: 'lists/north.csv' })).toMatchObject({
      folder: join(here, 'lists', 'north.round'),
      from: 'list',
    });
    mkdirSync(join(here, 'north.round'));
    writeFileSync(join(here, 'notes.round'), 'a file is no round');
    expect(await ask({})).toMatchObject({ folder: join(here, 'north.round'), from: 'here' });
    const environment = { STICKWRIGHT_ROUND: 'south.round' };
    expect(await ask({ environment, list: 'x.csv' })).toMatchObject({
      folder: join(here, 'south.round'),
      from: 'environment',
    });
    expect(await ask({ environment, named: '/west' })).toMatchObject({ folder: '/west', from: 'named' });
    mkdirSync(join(here, 'east.round'));
    expect(await ask({})).toEqual({ state: 'several', folders: ['east.round', 'north.round'] });
  });
});

describe('the copy of a list', () => {
  it('is the file that was read, byte for byte, or nothing', async () => {
    const path = join(folder, 'Räume.CSV');
    writeFileSync(path, 'Raum;Label\n');
    const digest = sha256(readFileSync(path));
    expect(await copyList({ source: path, sha256: digest })).toEqual({
      bytes: readFileSync(path),
      name: copyNameOf(digest, '.csv'),
    });
    await expect(copyList({ source: path, sha256: 'a'.repeat(64) })).rejects.toMatchObject({
      code: 'file/changed-while-read',
    });
  });
});
