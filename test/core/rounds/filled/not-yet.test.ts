import { describe, expect, it } from 'vitest';
import { progressWords } from '../../../../src/core/rounds/filled/export-changes.ts';
import { findFilledColumns } from '../../../../src/core/rounds/filled/filled-columns.ts';
import { readOutcome } from '../../../../src/core/rounds/filled/outcome-words.ts';
import { readFilledRow } from '../../../../src/core/rounds/filled/read-filled-row.ts';
import { inAir, makeRoom } from '../../../fixtures/round.ts';

const rooms = [
  makeRoom({ key: 'Hall', state: 'over-the-air', steps: [], way: inAir() }),
  makeRoom({ key: 'Room 2.14' }),
];
const head = { row: 1, cells: ['Room', 'Outcome', 'Build after', 'Words'] };

/** One row of a filled-in list: room, outcome, build, words. */
function read(...cells: readonly string[]) {
  const columns = findFilledColumns([head], undefined);
  if ('missing' in columns) throw new Error('the headings are known');
  const otherwise = { at: '2026-09-22T08:00:00+02:00', who: 'Ada' };
  const places = 'lines' as const;
  return readFilledRow(
    { row: 2, cells },
    { source: 'x.csv', places, columns, rooms, readTime: () => undefined, otherwise },
  );
}

// Common practice, no source: how people of each country write it.
describe('"not yet" in a filled-in list', () => {
  it('is known in the languages of lists', () => {
    for (const text of ['not yet', 'Noch nicht', 'pas encore', 'todavía no', 'non ancora', 'nog niet', 'jeszcze nie'])
      expect([text, readOutcome(text)]).toEqual([text, 'not-yet']);
  });

  it('notes a look at a panel that updates itself, with the build where somebody read it', () => {
    expect(read('Hall', 'not yet', '', '')).toMatchObject({
      state: 'filled',
      filled: { wish: { room: 'Hall', outcome: { kind: 'not-yet', build: undefined } } },
    });
    expect(read('Hall', 'not yet', 'reed.746', 'downloading')).toMatchObject({
      filled: { wish: { outcome: { kind: 'not-yet', build: 'reed.746' }, note: 'downloading' } },
    });
  });

  it('says nothing of a room that waits for its stick', () => {
    expect(read('Room 2.14', 'not yet', '', '')).toEqual({ state: 'empty' });
  });

  it('an export writes of a room over the air what is read again as nothing', () => {
    expect(readOutcome(progressWords['over-the-air'])).toBe('nothing');
    expect(read('Hall', progressWords['over-the-air'], '', '')).toEqual({ state: 'empty' });
  });
});
