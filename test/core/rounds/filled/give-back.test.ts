import { describe, expect, it } from 'vitest';
import type { RoomList } from '../../../../src/core/model/room.ts';
import { giveBack } from '../../../../src/core/rounds/filled/export-changes.ts';

const list: RoomList = {
  source: 'rooms.csv',
  sha256: '0'.repeat(64),
  form: { kind: 'csv', delimiter: ';', encoding: 'utf-8', byteOrderMark: true },
  headings: ['Notiz', 'Raum', 'Typenschild', 'Stand'],
  columns: { notes: 0, room: 1, label: 2, running: 3 },
  rooms: [],
  unused: [],
  rows: [
    { row: 4, cells: ['=owner()', '2.14', 'home-second 75/5B', 'reed.365'] },
    { row: 5, cells: ['', 'Aula'] },
    { row: 9, cells: ['a', 'b', 'c', 'd', 'too much'] },
  ],
};

describe('a list given back', () => {
  it('is what it was, where nothing is changed, but for what a spreadsheet would run', () => {
    expect(giveBack(list, [])).toEqual([
      list.headings,
      ...list.rows.map(({ cells }) => cells.map((cell) => (cell === '=owner()' ? "'=owner()" : cell))),
    ]);
  });

  it("takes changes in the field's own column and new ones at the right, once each", () => {
    expect(
      giveBack(list, [
        { row: 4, column: 'running', text: 'reed.1717' },
        { row: 4, column: { heading: 'Done at' }, text: '2026-10-01' },
        { row: 5, column: { heading: 'done  AT' }, text: '2026-10-02' },
        { row: 5, column: 'serial', text: 'A1' },
      ]),
    ).toEqual([
      ['Notiz', 'Raum', 'Typenschild', 'Stand', '', 'Done at', 'serial'],
      ["'=owner()", '2.14', 'home-second 75/5B', 'reed.1717', '', '2026-10-01'],
      ['', 'Aula', '', '', '', '2026-10-02', 'A1'],
      ['a', 'b', 'c', 'd', 'too much'],
    ]);
  });

  it('lets no spreadsheet run a cell, its own and the owner’s alike', () => {
    for (const text of ['=1+1', '+cmd', '-2+3', '@x', '\tx', '\rx', '＝1', '-x']) {
      const own = giveBack(list, [{ row: 4, column: 'running', text }])[1]?.[3];
      const theirs = giveBack({ ...list, rows: [{ row: 4, cells: ['', '', '', text] }] }, [])[1]?.[3];
      expect({ own, theirs }, text).toEqual({ own: `'${text}`, theirs: `'${text}` });
    }
  });

  it('leaves a plain number, a dash and a telephone number as they are', () => {
    for (const text of ['-2', '+49 30 1234', '-', '-1.5', "'=already", ''])
      expect(giveBack({ ...list, rows: [{ row: 4, cells: [text] }] }, [])[1]).toEqual([text]);
  });
});
