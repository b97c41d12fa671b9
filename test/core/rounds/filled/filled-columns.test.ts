import { describe, expect, it } from 'vitest';
import {
  filledFields,
  filledHeadings,
  findFilledColumns,
  ownHeading,
} from '../../../../src/core/rounds/filled/filled-columns.ts';
import { readOutcome } from '../../../../src/core/rounds/filled/outcome-words.ts';

const rowsOf = (...rows: readonly (readonly string[])[]) => rows.map((cells, index) => ({ row: index + 1, cells }));
const find = (...headings: readonly string[]) => findFilledColumns(rowsOf(headings), undefined);

describe('the columns of a filled-in list', () => {
  it('are those that an export writes, beside the owner’s own', () => {
    const own = ['Room', 'Panel label', 'Running build', 'Serial no.', 'Asset tag', 'Remarks'];
    const columns = find(...own, ...filledFields.map((field) => filledHeadings[field]));
    expect(columns).toMatchObject({
      index: 0,
      panel: { room: 0, label: 1, serial: 3, asset: 4 },
      filled: { outcome: 6, build: 7, at: 8, who: 9, stick: 10, words: 11 },
    });
  });

  it('are the round’s where the owner has a column of the same name', () => {
    const columns = find('Room', 'Who', ownHeading('who'), 'Outcome');
    expect(columns).toMatchObject({ filled: { who: 2, outcome: 3 } });
  });

  it('are found by usual headings in other languages, below lines of title', () => {
    const rows = rowsOf(
      ['Runde im November'],
      [],
      ['Raum', 'Ergebnis', 'Build nachher', 'Wann', 'Techniker', 'Stick', 'Meldung'],
    );
    expect(findFilledColumns(rows, undefined)).toMatchObject({
      index: 2,
      panel: { room: 0 },
      filled: { outcome: 1, build: 2, at: 3, who: 4, stick: 5, words: 6 },
    });
  });

  it('take the list’s own heading of the room, whatever it is', () => {
    const rows = rowsOf(['Lieu-dit', 'Outcome']);
    expect(findFilledColumns(rows, 'lieu dit')).toMatchObject({ panel: { room: 0 } });
    expect(findFilledColumns(rows, undefined)).toMatchObject({ missing: ['the room'] });
  });

  it('are named where they are missing', () => {
    expect(find('Room', 'Remarks')).toEqual({
      missing: ['the outcome or the build after'],
      first: ['Room', 'Remarks'],
    });
    expect(find('a', 'b')).toMatchObject({ missing: ['the room', 'the outcome or the build after'] });
    expect(findFilledColumns([], undefined)).toMatchObject({ first: [] });
  });
});

describe('words for an outcome', () => {
  it('are read in any case, with signs, in several languages; what an export writes for nobody was there is nothing', () => {
    const read = (words: readonly string[]) => [...new Set(words.map(readOutcome))];
    expect(read(['done', 'DONE', 'ok', '✓', 'x', 'Erledigt', 'fait', 'under way', 'unclear'])).toEqual(['done']);
    expect(read(['failed', 'Fehlgeschlagen', 'échec', '✗', 'not ok'])).toEqual(['failed']);
    expect(read(['skipped', 'Übersprungen', 'no access'])).toEqual(['skipped']);
    expect(read(['', ' ', '-', '☐', 'open', 'prepared', 'held', 'up to date'])).toEqual(['nothing']);
    expect(read(['maybe', '?', 'see mail'])).toEqual([undefined]);
  });
});
