import { spawnSync } from 'node:child_process';
import { mkdtempSync, readdirSync, readFileSync, rmSync, statSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterEach, beforeEach, describe, expect, it, test } from 'vitest';
import type { RoundRecord } from '../../src/core/model/round-record.ts';
import { makeCards } from '../../src/core/rounds/cards/make-cards.ts';
import type { Pocket } from '../../src/core/rounds/pocket/make-pocket.ts';
import { writePocketFile } from '../../src/core/rounds/pocket/pocket-lines.ts';
import { mostInText, writeParts } from '../../src/core/rounds/pocket/pocket-parts.ts';
import { roundRecordWithDigest } from '../../src/core/rounds/records/own-digests.ts';
import { openRound } from '../../src/io/rounds/open-round.ts';
import { phoneTools } from '../../src/pocket/tools.ts';
import { stickwright } from '../fixtures/command.ts';
import { keptRound, linesOf } from '../fixtures/pockets.ts';
import { preparedOf } from '../fixtures/round.ts';

let round = '';
const plan = keptRound();
beforeEach(async () => {
  round = join(mkdtempSync(join(tmpdir(), 'stickwright-pocket-')), 'north.round');
  const folder = openRound(round, 'MK');
  await folder.savePlan(plan, Buffer.from('Room,Label\n'));
});
afterEach(() => rmSync(join(round, '..'), { recursive: true, force: true }));

const pocket = (...words: readonly string[]) => stickwright(['round', 'pocket', '--round', round, ...words]);
const dataOf = (page: string): Pocket =>
  JSON.parse(/<script type="application\/json" id="pocket-data">(.*?)<\/script>/s.exec(page)?.[1] ?? '');

describe('round pocket', () => {
  it('writes one file into the folder of the round, and says what to mind', () => {
    const { exitCode, stdout, stderr } = pocket('--for', 'Ada Lark');
    expect(stderr).toBe('');
    expect(exitCode).toBe(0);
    for (const code of ['pocket/written', 'pocket/no-approval', 'pocket/not-prepared'])
      expect(stdout).toContain(`[${code}]`);
    expect(readdirSync(join(round, 'print')).toSorted()).toEqual(['pocket-ada-lark.html', 'printed.sha256']);
    const secrets = readdirSync(join(round, 'pockets'));
    expect(secrets).toHaveLength(1);
    expect(statSync(join(round, 'pockets', secrets[0] ?? '')).mode & 0o077).toBe(0);
  });

  it('says what is not proven of its sticks', async () => {
    const [load] = plan.loads;
    if (load === undefined) throw new Error('there are loads');
    const doubts = { target: '/dev/somewhere', unproven: ['archive/no-published-hash'] };
    const doubted = { ...preparedOf(load, 'AAA-AAA', 1), ...doubts } as RoundRecord;
    await openRound(round, 'MK').append([roundRecordWithDigest(doubted, phoneTools.sha256)]);
    const { exitCode, stdout } = pocket('--for', 'Ada', '--json');
    const { findings, rooms } = JSON.parse(stdout);
    const page = readFileSync(join(round, 'print', 'pocket-ada.html'), 'utf8');
    expect(Object.keys(dataOf(page).doubts)).toEqual(['archive/no-published-hash']);
    expect(rooms).toEqual(dataOf(page).order);
    expect(page).not.toContain('/dev/somewhere');
    const codes = findings.map(({ code }: { code: string }) => code);
    expect([exitCode, codes.includes('pocket/unproven')]).toEqual([4, true]);
  });

  test('carries only the rooms of its person, in walking order, and nothing of the desk', {
    tags: ['nobody-else'],
  }, () => {
    expect(pocket('--for', 'Bo', '--room', 'Library', '--room', '2.14').exitCode).toBe(0);
    const page = readFileSync(join(round, 'print', 'pocket-bo.html'), 'utf8');
    const { order, round: part, families } = dataOf(page);
    expect(order.toSorted()).toEqual(['Library', 'Room 2.14']);
    for (const other of ['Room 2.15', 'QSA-10215', 'SD75B-2291-0090', 'Assembly hall', 'Harrow', 'Workshop'])
      expect(page).not.toContain(other);
    expect([part.shelf, part.families, part.list.path]).toEqual(['', [], 'Quillhaven-north']);
    expect(families.map(({ family, packages }) => [family, packages])).toEqual([['sedge', []]]);
    expect(
      makeCards(part, [])
        .map(({ room }) => room.key)
        .toSorted(),
    ).toEqual(['Library', 'Room 2.14']);
  });

  it('takes the rooms that a stick of the plan goes to, as they come on the walk', () => {
    pocket('--for', 'Bo', '--stick', '1');
    const { order } = dataOf(readFileSync(join(round, 'print', 'pocket-bo.html'), 'utf8'));
    const turns = plan.schedule.turns.filter(({ stick, room }) => stick === 1 && room !== null);
    expect(order).toEqual(turns.toSorted((a, b) => a.startMinute - b.startMinute).map(({ room }) => room));
    const none = pocket('--stick', '99');
    expect([none.exitCode, none.stderr]).toEqual([2, expect.stringContaining('no stick 99')]);
    expect(pocket('--stick', 'one').exitCode).toBe(2);
  });

  test('asks for nothing: its policy allows no request, and names no address', { tags: ['nobody-else'] }, () => {
    pocket('--for', 'Ada');
    const page = readFileSync(join(round, 'print', 'pocket-ada.html'), 'utf8');
    const policy = /http-equiv="Content-Security-Policy" content="([^"]*)"/.exec(page)?.[1] ?? '';
    expect(policy).toMatch(/^default-src 'none'; script-src 'sha256-[\w+/=]+'; style-src 'sha256-[\w+/=]+'; /);
    expect(policy).not.toMatch(/unsafe|connect-src|https?:/);
    expect(page).not.toMatch(/<(link|script|img|iframe)[^>]+(src|href)=/);
    expect(page).not.toMatch(/@import|url\(["']?(?!#)/);
  });

  it('writes where it is told, and nothing over what is there', () => {
    const out = join(round, '..', 'ada.html');
    expect(pocket('--for', 'Ada', '--out', out).exitCode).toBe(0);
    const first = dataOf(readFileSync(out, 'utf8'));
    expect(pocket('--for', 'Ada', '--out', out).exitCode).toBe(3);
    expect(pocket('--for', ' ada', '--out', out, '--overwrite').exitCode).toBe(0);
    // A new file for the same person goes on where the first was; another person's is another.
    const again = dataOf(readFileSync(out, 'utf8'));
    expect([again.id, again.secret]).toEqual([first.id, first.secret]);
    pocket('--for', 'Bo');
    const bo = dataOf(readFileSync(join(round, 'print', 'pocket-bo.html'), 'utf8'));
    expect([bo.id === first.id, bo.secret === first.secret]).toEqual([false, false]);
  });

  it('is merged from a file and from what is pasted, and says which file it came from', () => {
    pocket('--for', 'Ada');
    const page = readFileSync(join(round, 'print', 'pocket-ada.html'), 'utf8');
    const carried = dataOf(page);
    const file = join(round, '..', 'back.txt');
    writeFileSync(file, writePocketFile(['x'], linesOf(carried, [{}, {}]), carried, phoneTools.hmac));
    const { exitCode, stdout } = stickwright(['round', 'merge', file, file, '--round', round]);
    expect(exitCode).toBe(0);
    expect(stdout).toContain('[pocket/taken]');
    expect(stdout.replace(/\s+/g, ' ')).toMatch(/2 entries of file \w{8}, which was made for Ada at .* not the person/);
    expect(stdout).toContain('MERGED: 2 new lines');
    const pasted = spawnSync(process.execPath, ['bin/stickwright.js', 'round', 'merge', '-', '--round', round], {
      input: `What Ada wrote in the chat:\n${writeParts(linesOf(carried, [{}, {}, {}]), mostInText, phoneTools).join('\n')}`,
      encoding: 'utf8',
    });
    expect(pasted.stdout).toContain('MERGED: 1 new line.');
    const status = stickwright(['round', 'status', '--round', round, '--json']);
    expect(JSON.parse(status.stdout).counts.skipped).toBe(3);
  });
});
