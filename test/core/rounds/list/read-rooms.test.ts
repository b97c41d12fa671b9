import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { readRooms } from '../../../../src/core/rounds/list/read-rooms.ts';

const context = {
  source: 'x.csv',
  places: 'lines',
  headings: ['room', 'label', 'serial', 'asset', 'mode', 'approval'],
  columns: { room: 0, label: 1, serial: 2, asset: 3, mode: 4, approval: 5 },
} as const;
const read = (...rows: readonly (readonly string[])[]) =>
  readRooms(
    rows.map((cells, index) => ({ row: index + 2, cells: [...cells, '', '', '', ''].slice(0, 6) })),
    context,
  );
const keys = (...rows: readonly (readonly string[])[]) => read(...rows).rooms.map(({ key }) => key);

describe('the key of a room', () => {
  it('is the room where the list names it once', () => {
    expect(keys(['Aula', 'A', 'S1'], ['2.14', 'A', 'S2'])).toEqual(['Aula', '2.14']);
  });

  it('has asset, else serial, else label behind it where the list names the room again', () => {
    expect(keys(['Aula', 'A', 'S1', 'Q1'], ['aula', 'A', 'S2'], ['AULA ', 'B'])).toEqual([
      'Aula · Q1',
      'aula · S2',
      'AULA · B',
    ]);
  });

  it('stays what it is when the bad row beside it is mended', () => {
    const [before] = keys(['Aula', 'A', 'S1'], ['Aula', '', 'S2']);
    expect(keys(['Aula', 'A', 'S1'], ['Aula', 'B', 'S2'])[0]).toBe(before);
  });

  it('is not made longer by the same row twice', () => {
    expect(keys(['Aula', 'A', 'S1'], ['Aula', 'A', 'S1'])).toEqual(['Aula']);
  });

  it('is unique, whatever the list holds; and every row is a room or is spoken of', () => {
    const cell = fc.constantFrom(
      '',
      'Aula',
      'aula',
      'Aula · S1',
      'S1',
      'S2',
      'A',
      '-',
      'recovery',
      'x',
      '04.Feb',
      'Total',
    );
    fc.assert(
      fc.property(fc.array(fc.array(cell, { minLength: 6, maxLength: 6 }), { maxLength: 12 }), (rows) => {
        const { rooms, findings } = read(...rows);
        expect(new Set(rooms.map(({ key }) => key.toUpperCase())).size).toBe(rooms.length);
        const said = JSON.stringify(findings);
        const numbers = new Set(rooms.map(({ row }) => row));
        for (const [index] of rows.entries()) {
          if (!numbers.has(index + 2)) expect(said).toMatch(new RegExp(`line ${index + 2}\\b`));
        }
        const serials = rooms.flatMap(({ serial }) => (serial === undefined ? [] : [serial]));
        expect(new Set(serials).size).toBe(serials.length);
      }),
      { numRuns: 500 },
    );
  });
});

describe('an approval', () => {
  it('counts with a name only', () => {
    const { rooms, findings } = read(
      ['1', 'A', 'S1', '', 'recovery', 'M. Aldane'],
      ['2', 'A', 'S2', '', 'recovery', 'yes'],
      ['3', 'A', 'S3', '', 'recovery', 'no'],
    );
    expect(rooms.map(({ mode, approval }) => [mode, approval])).toEqual([
      ['recovery', 'M. Aldane'],
      ['recovery', undefined],
      ['recovery', undefined],
    ]);
    expect(findings.map(({ code, subject }) => [code, subject])).toEqual([['room/approval-without-name', 'x.csv:3']]);
  });
});
