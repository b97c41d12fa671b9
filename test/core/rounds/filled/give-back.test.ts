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
  rows: [
    { row: 4, cells: ['=owner()', '2.14', 'home-second 75/5B', 'reed.365'] },
    { row: 5, cells: ['', 'Aula'] },
    { row: 9, cells: ['a', 'b', 'c', 'd', 'too much'] },
  ],
};

describe('a list given back', () => {
  it('is what it was, where nothing is changed', () => {
    expect(giveBack(list, [])).toEqual([list.headings, ...list.rows.map(({ cells }) => cells)]);
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
      ['=owner()', '2.14', 'home-second 75/5B', 'reed.1717', '', '2026-10-01'],
      ['', 'Aula', '', '', '', '2026-10-02', 'A1'],
      ['a', 'b', 'c', 'd', 'too much'],
    ]);
  });

  it('lets no spreadsheet run what is added, and leaves what the owner wrote', () => {
    for (const text of ['=1+1', '+cmd', '-2', '@x', '\tx', '\rx', '＝1']) {
      const [, first] = giveBack(list, [{ row: 4, column: 'running', text }]);
      expect(first).toEqual(['=owner()', '2.14', 'home-second 75/5B', `'${text}`]);
    }
  });
});
