import { readFile } from 'node:fs/promises';
import { describe, expect, it } from 'vitest';
import { roomFindings } from '../../../src/core/findings/catalogue/room.ts';
import type { FindingCode } from '../../../src/core/findings/catalogue.ts';
import { textsOf } from '../../../src/core/findings/finding.ts';
import type { ColumnMemory, NamedColumns } from '../../../src/io/rooms/room-lists.ts';
import { sampleFamilies } from '../../core/label/families.ts';
import { damagedWorkbook, workbookOf } from '../../fixtures/rooms/make-workbook.ts';
import { readList } from '../../fixtures/rooms/read-list.ts';

const families = await sampleFamilies();
const head = 'Room;Label;Running;Serial;Asset;Notes;Mode;Approval\n';
const good = '2.14;K2-second 75/5B;reed.746;A1;Q-1;;;\n';
const list = (row: string): string => `${head}${good}${row}\n`;
const memory: ColumnMemory = {
  place: 'columns.json',
  problem: undefined,
  recall: () => undefined,
  keep: async () => 'it is damaged',
};

/** One list for every finding of the area, what it must say, and the rooms that stand in spite of it. */
const cases: readonly {
  readonly code: FindingCode;
  readonly content: string | Uint8Array | Promise<Uint8Array>;
  readonly says: RegExp;
  readonly rooms?: readonly string[];
  readonly named?: NamedColumns;
}[] = [
  { code: 'room/not-a-list', content: '%PDF-1.7\n', says: /a PDF/ },
  {
    code: 'room/too-large',
    content: `${head}${'x;home-second 75/5B\n'.repeat(50_001)}`,
    says: /more than 50,000 rows/,
  },
  { code: 'room/workbook-damaged', content: damagedWorkbook(), says: /checksum/ },
  { code: 'room/sheet-missing', content: workbookOf({ hidden: true }), says: /no visible sheet; hidden: "List"/ },
  { code: 'room/sheet-chosen', content: readFile('samples/rooms/quillhaven.xlsx'), says: /"Räume".*not "Legende"\.$/ },
  {
    code: 'room/encoding-assumed',
    content: Buffer.from(list('Bühne;home-first 110/5B;reed.365'), 'latin1'),
    says: /Windows-1252/,
    rooms: ['2.14', 'Bühne'],
  },
  { code: 'room/no-rows', content: head, says: /no row of a panel/ },
  {
    code: 'room/headings-missing',
    content: 'a list of rooms\nwith nothing in it\n',
    says: /begins with "a list of rooms"/,
  },
  {
    code: 'room/columns-unknown',
    content: 'Wo;Was\n1;home-second 75/5B\n2;home-first 110/5B\n',
    says: /room and the label stand\. .*Perhaps: the label in "Was"/,
  },
  {
    code: 'room/field-not-read',
    content: 'Room;Label;Firmware of panel\n1;home-second 75/5B;reed.746\n',
    says: /"Firmware of panel" perhaps holds the running build/,
    rooms: ['1'],
  },
  { code: 'room/column-not-there', content: list(''), named: { label: 'Plate' }, says: /no single column "Plate"/ },
  { code: 'room/columns-read', content: list(''), says: /^room from "Room" \(by its heading\)/, rooms: ['2.14'] },
  {
    code: 'room/column-rivals',
    content: 'Room;Raum;Label\n1;2;home-second 75/5B\n',
    says: /read from "Room"; "Raum" could be meant/,
    rooms: ['1'],
  },
  {
    code: 'room/label-column-doubtful',
    content: 'Room;Type;Plate text\n1;a;home-second 75/5B\n2;b;home-first 110/5B\n',
    says: /2 cells of "Plate text"/,
    rooms: ['1', '2'],
  },
  { code: 'room/column-memory', content: list(''), named: { label: 'Label' }, says: /it is damaged/, rooms: ['2.14'] },
  {
    code: 'room/room-missing',
    content: list(';home-first 110/5B'),
    says: /^Line 3, column 1 "Room": the room is missing; its label is "home-first 110\/5B"/,
    rooms: ['2.14'],
  },
  {
    code: 'room/label-missing',
    content: list('Hall;-;reed.746'),
    says: /^Line 3, column 2 "Label": the label of "Hall" is missing/,
    rooms: ['2.14'],
  },
  {
    code: 'room/too-many-cells',
    content: list('Hall;home-first 110/5B;1;2;3;4;5;6;7'),
    says: /^Line 3: 9 cells under 8 headings/,
    rooms: ['2.14'],
  },
  {
    code: 'room/too-few-cells',
    content: list('Hall;home-first 110/5B'),
    says: /^Line 3: 2 cells under 8 headings/,
    rooms: ['2.14', 'Hall'],
  },
  {
    code: 'room/quote-not-closed',
    content: list('Hall;"home-first 110/5B;reed.746;;;;;'),
    says: /^Line 3: a quotation mark opens/,
    rooms: ['2.14'],
  },
  {
    code: 'room/mode-unknown',
    content: list('Hall;home-first 110/5B;;;;;flash;'),
    says: /column 7 "Mode": "flash" for "Hall" is no mode/,
    rooms: ['2.14'],
  },
  {
    code: 'room/answer-unknown',
    content: `Room;Label;Does it start?\n2.14;home-first 110/5B;yes\nHall;home-first 110/5B;slowly\n`,
    says: /column 3 "Does it start\?": "slowly" for "Hall" is no word on whether it starts/,
    rooms: ['2.14'],
  },
  { code: 'room/total-row', content: list('Total;1;;;;;;'), says: /"Total" reads as a total/, rooms: ['2.14'] },
  { code: 'room/headings-again', content: list(head.trim()), says: /^Line 3 repeats/, rooms: ['2.14'] },
  {
    code: 'room/empty-rows',
    content: list(`\n;;;;;;;\n${good.replaceAll('1', '2')}`),
    says: /^2 empty rows in between: line 3, line 4/,
    rooms: ['2.14', '2.24'],
  },
  { code: 'room/hidden-rows', content: readFile('samples/rooms/quillhaven.xlsx'), says: /1 row \(row 14\)/ },
  { code: 'room/merged-rows', content: readFile('samples/rooms/quillhaven.xlsx'), says: /cell A28 "Raum"/ },
  {
    code: 'room/cell-mangled',
    content: list('Hall;04.Feb;reed.746;;;;;'),
    says: /the label is "04\.Feb": a spreadsheet has made a date/,
    rooms: ['2.14'],
  },
  {
    code: 'room/running-mangled',
    content: list('Hall;home-first 110/5B;2.0240117E7;;;;;'),
    says: /the running build is "2\.0240117E7".*stays in the round/,
    rooms: ['2.14', 'Hall'],
  },
  {
    code: 'room/cell-not-used',
    content: list('Hall;home-first 110/5B;reed.746;########;;;;'),
    says: /the serial number is "########": the column was too narrow/,
    rooms: ['2.14', 'Hall'],
  },
  {
    code: 'room/room-is-number',
    content: workbookOf({ rows: [[{ number: 2.1 }, { text: 'home-first 110/5B' }]] }),
    says: /the room "2\.1" is a number/,
    rooms: ['2.1'],
  },
  {
    code: 'room/date-as-build',
    content: readFile('samples/rooms/quillhaven.xlsx'),
    says: /the date 2024-01-17; it was read as the running build 20240117/,
  },
  {
    code: 'room/formula-text',
    content: list('Hall;home-first 110/5B;;;;=cmd|calc;;'),
    says: /column 6 "Notes": =cmd\|calc/,
    rooms: ['2.14', 'Hall'],
  },
  {
    code: 'room/control-characters',
    content: list('Hall;home-first 110/5B\u0007;;;;;;'),
    says: /U\+0007; taken out/,
    rooms: ['2.14', 'Hall'],
  },
  {
    code: 'room/odd-spaces',
    content: list('Hall;K2-second\u00A075/5B;;;;;;'),
    says: /^1 cell .*line 3, column 2/,
    rooms: ['2.14', 'Hall'],
  },
  {
    code: 'room/stray-quote',
    content: list('Hall;"home-first 110/5B" new;;;;;;'),
    says: /"home-first 110\/5B" new was read with its quotation marks/,
    rooms: ['2.14', 'Hall'],
  },
  {
    code: 'room/cell-holds-rows',
    content: list('Hall;home-first 110/5B;;;;"a\nb;c;1;2;3;4;5;6\nd";;'),
    says: /quoted over 3 lines/,
    rooms: ['2.14', 'Hall'],
  },
  {
    code: 'room/approval-without-name',
    content: list('Hall;home-first 110/5B;;;;;recovery;ja'),
    says: /"ja" for "Hall"/,
    rooms: ['2.14', 'Hall'],
  },
  {
    code: 'room/row-twice',
    content: list(good),
    says: /^Line 2 and line 3 say the same .*"2\.14"; the first counts/,
    rooms: ['2.14'],
  },
  {
    code: 'room/panel-twice',
    content: list(good.replace('reed.746', 'reed.365')),
    says: /^Line 2 and line 3 are the panel A1 in "2\.14", but differ/,
    rooms: [],
  },
  {
    code: 'room/serial-in-two-rooms',
    content: list('2.15;K2-second 75/5B;reed.746;a 1;Q-2;;;'),
    says: /serial A1 stands in "2\.14" and "2\.15"/,
    rooms: [],
  },
  {
    code: 'room/asset-twice',
    content: list('2.15;K2-second 75/5B;reed.746;A2;Q-1;;;'),
    says: /asset Q-1 stands for panels in "2\.14" and "2\.15"/,
    rooms: [],
  },
  {
    code: 'room/panels-alike',
    content: list('Hall;home-first 110/5B;1;;;;;\nHALL;home-first 110/5b;2;;;;;'),
    says: /^Line 3 and line 4 are in "Hall" and "HALL"/,
    rooms: ['2.14'],
  },
];

describe('every finding of a room list', () => {
  it.each(cases)('$code', async ({ code, content, says, rooms, named = {} }) => {
    const { list: read, findings } = await readList(await content, named, { families, memory });
    const found = findings.find((one) => one.code === code);
    expect(findings.map((one) => one.code)).toContain(code);
    if (found === undefined) return;
    expect(textsOf(found).seen).toMatch(says);
    for (const one of findings) expect(Object.values(textsOf(one)).join('\n')).not.toMatch(/undefined|\[object|NaN/);
    if (rooms !== undefined) expect(read?.rooms.map(({ key }) => key)).toEqual(rooms);
  });

  it('has a case here', () => {
    expect(new Set(cases.map(({ code }) => code))).toEqual(new Set(Object.keys(roomFindings)));
  });
});
