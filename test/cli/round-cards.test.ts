import { mkdtempSync, readdirSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterEach, beforeEach, describe, expect, it, vi } from 'vitest';
import { openRound } from '../../src/io/rounds/open-round.ts';
import { copyNameOf } from '../../src/io/rounds/plan-file.ts';
import { stickwright } from '../fixtures/command.ts';
import { sampleRound, sha256Of } from '../fixtures/round.ts';
import { needs } from '../outside/needs.ts';

vi.setConfig({ testTimeout: 240_000 });

let round = '';
let print = '';
beforeEach(async () => {
  round = join(mkdtempSync(join(tmpdir(), 'stickwright-cards-')), 'north.round');
  print = join(round, 'print');
  const plan = sampleRound();
  const copied = { ...plan, list: { ...plan.list, copy: copyNameOf(sha256Of('c'), '.csv') } };
  await openRound(round, 'MK').savePlan(copied, Buffer.from('Room,Label\n'));
});
afterEach(() => rmSync(join(round, '..'), { recursive: true, force: true }));

const cards = (...words: readonly string[]) => stickwright(['round', 'cards', '--round', round, ...words]);
/** A machine without any browser: the one that is named is not there. */
const none = { STICKWRIGHT_BROWSER: '/nowhere/browser' };

describe('round cards', () => {
  it('writes cards, tags and cover into the folder of the round, and says what to mind', () => {
    const { exitCode, stdout, stderr } = cards();
    expect(stderr).toBe('');
    expect(exitCode).toBe(0);
    expect(readdirSync(print).toSorted()).toEqual(['cards.html', 'cover.html', 'printed.sha256', 'tags.html']);
    expect(stdout).toContain('7 cards, one page each, A5');
    expect(stdout).toContain('[cards/no-approval]');
    expect(stdout).toContain('[cards/not-prepared]');
  });

  it('gives one JSON document, and only the rooms that were asked for', () => {
    const { exitCode, stdout } = cards('--json', '--paper', 'a6', '--room', '2.14', '--room', 'Music 1');
    const document = JSON.parse(stdout);
    expect(exitCode).toBe(0);
    expect(document).toMatchObject({
      schema: 'stickwright/report/1',
      command: 'round cards',
      paper: 'a6',
      cards: 1,
      pages: 1,
      tags: 1,
      files: ['cards.html', 'tags.html', 'cover.html'],
      without: [{ room: 'Music 1', state: 'stopped' }],
    });
    expect(readFileSync(join(print, 'cards.html'), 'utf8')).not.toContain('Room 2.15');
  });

  it('names the near rooms where there is none of that name, and writes nothing', () => {
    const { exitCode, stderr } = cards('--room', 'Room 2.41');
    expect(exitCode).toBe(2);
    expect(stderr).toContain('Room 2.14');
    expect(readdirSync(round)).not.toContain('print');
  });

  it('prints again over its own files, and never over what somebody changed', () => {
    expect(cards().exitCode).toBe(0);
    expect(cards('--paper', 'a6').exitCode).toBe(0);
    const path = join(print, 'tags.html');
    writeFileSync(path, `${readFileSync(path, 'utf8')}<!-- mine -->`);
    const { exitCode, stderr } = cards();
    expect(exitCode).toBe(3);
    expect(stderr).toContain('file/not-permitted');
    expect(readFileSync(path, 'utf8')).toContain('<!-- mine -->');
    expect(cards('--out', join(round, 'other')).exitCode).toBe(0);
  });

  it('without a browser writes the HTML, and says how to print it', () => {
    const { exitCode, stderr } = stickwright(['round', 'cards', '--round', round, '--pdf'], none);
    expect(exitCode).toBe(3);
    expect(stderr).toContain('cards/no-browser');
    expect(stderr).toContain('Open the HTML files');
    expect(readdirSync(print)).toContain('cards.html');
  });

  needs({ chromium: 'chromium' })(
    'prints PDF with an installed browser, and takes it away when it is out of date',
    () => {
      const { exitCode, stderr } = cards('--pdf');
      expect({ exitCode, stderr }).toEqual({ exitCode: 0, stderr: '' });
      for (const name of ['cards.pdf', 'tags.pdf', 'cover.pdf']) {
        expect(readFileSync(join(print, name)).subarray(0, 5).toString('latin1')).toBe('%PDF-');
      }
      expect(cards('--paper', 'a6').stdout).toContain('cards.pdf, tags.pdf, cover.pdf');
      expect(readdirSync(print).toSorted()).toEqual(['cards.html', 'cover.html', 'printed.sha256', 'tags.html']);
    },
  );

  it('says where there is no plan yet', () => {
    const { exitCode, stderr } = stickwright(['round', 'cards', '--round', join(round, 'nothing')]);
    expect(exitCode).toBe(2);
    expect(stderr).toContain('stickwright round plan');
  });
});
