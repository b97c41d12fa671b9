import { mkdtemp, rm, writeFile } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { describe, expect, it } from 'vitest';
import { ToolError } from '../../../src/core/model/tool-error.ts';
import { encodeText } from '../../../src/core/rounds/list/decode-text.ts';
import type { ColumnQuestion } from '../../../src/io/rooms/room-lists.ts';
import { sampleFamilies } from '../../core/label/families.ts';
import { readList, readRoomList } from '../../fixtures/rooms/read-list.ts';

const families = await sampleFamilies();

const head = 'room;label;running;serial;asset;notes\n';
const two = '2.14;K2-second 75/5B;reed.746;A1;Q-1;"two\nlines"\n\n2.15;home-first 110/5B;reed.365;A2;Q-2;\n';

describe('a room list in CSV', () => {
  it('is read with its line numbers, whatever the delimiter', async () => {
    for (const delimiter of [';', ',', '\t', '|']) {
      const { list, codes } = await readList((head + two).replaceAll(';', delimiter));
      expect(list?.form).toEqual({ kind: 'csv', delimiter, encoding: 'utf-8', byteOrderMark: false });
      expect(list?.rooms).toEqual([
        {
          key: '2.14',
          row: 2,
          room: '2.14',
          label: 'K2-second 75/5B',
          running: 'reed.746',
          serial: 'A1',
          asset: 'Q-1',
          notes: 'two\nlines',
          mode: undefined,
          approval: undefined,
          answers: {},
        },
        expect.objectContaining({ key: '2.15', row: 5, notes: undefined }),
      ]);
      expect(codes).toEqual(['room/columns-read', 'room/empty-rows']);
    }
  });

  it('is read in every encoding, and says when one was assumed', async () => {
    const text = 'Raum;Typenschild;Firmwarestand\r\nBüro;home-second 75/5B;reed.746\r\n';
    for (const encoding of ['utf-8', 'utf-16le', 'utf-16be', 'windows-1252'] as const) {
      for (const byteOrderMark of encoding === 'windows-1252' ? [false] : [true, false]) {
        const { list, codes } = await readList(encodeText(text, encoding, byteOrderMark) ?? '');
        expect(list?.form).toMatchObject({ encoding, byteOrderMark, delimiter: ';' });
        expect(list?.rooms[0]?.room).toBe('Büro');
        expect(codes.includes('room/encoding-assumed')).toBe(encoding === 'windows-1252');
      }
    }
  });

  it('finds its headings below a title, also where the first line says the delimiter', async () => {
    const text = 'sep=,\r\nSchool rooms, autumn\r\n\r\nLabel,Note; or not,Room\r\nhome-second 75/5B,x,2.14\r\n';
    const { list } = await readList(text);
    expect(list?.columns).toEqual({ label: 0, room: 2 });
    expect(list?.rooms).toMatchObject([{ key: '2.14', row: 5 }]);
  });

  it('goes on below a quotation mark that never closes, at whatever line it is met again', async () => {
    const rows = [
      [
        '2.14;"home-second 75/5B;reed.746;A1;Q-1;',
        '2.15;home-first 110/5B;reed.365;A2;Q-2;',
        '2.16;home-first 110/5B;reed.365;A3;Q-3;',
      ],
      [
        '2.14;"home-second 75/5B;reed.746;A1;Q-1;',
        '2.15;home-first 110/5B;reed.365;A2;Q-2;"said ""no"""',
        '2.16;"home-first 110/5B";reed.365;A3;Q-3;',
      ],
      [
        '2.14;"home-second 75/5B;reed.746;A1;Q-1;',
        '"2.15";home-first 110/5B;reed.365;A2;Q-2;75"',
        '2.16;home-first 110/5B;reed.365;A3;Q-3;',
      ],
    ];
    for (const lines of rows) {
      const { list, seen } = await readList(head + lines.join('\n'));
      expect(list?.rooms.map(({ room, row }) => [room, row])).toEqual([
        ['2.15', 3],
        ['2.16', 4],
      ]);
      expect(seen('room/quote-not-closed')).toEqual([expect.stringMatching(/^Line 2: .*"home-second 75\/5B/)]);
    }
  });

  it('reads an inch sign inside a cell, and a text that was kept from a spreadsheet', async () => {
    const { list, codes } = await readList(`${head}2.14;home-second 75/5B;reed.746;="00123";;new 75" panel\n`);
    expect(list?.rooms[0]).toMatchObject({ serial: '00123', notes: 'new 75" panel' });
    expect(codes).toEqual(['room/columns-read']);
  });

  it('takes a delimiter more at every line for no fault, and one more in a single line for a moved cell', async () => {
    const row = (room: string, more = '') => `${room};home-second 75/5B;reed.746;S${room};A${room};n;${more}\n`;
    const { list, codes, seen } = await readList(
      head + row('1') + row('2') + row('3') + row('4', 'more;cells') + row('5'),
    );
    expect(list?.rooms.map(({ room }) => room)).toEqual(['1', '2', '3', '5']);
    expect(seen('room/too-many-cells')).toEqual([
      'Line 5: 8 cells under 6 headings, up to "cells". A delimiter inside a text has moved the cells.',
    ]);
    expect(codes).toEqual(['room/columns-read', 'room/too-many-cells']);
  });

  it('says what is missing of the machine: no file, a folder', async () => {
    const folder = await mkdtemp(join(tmpdir(), 'stickwright-list-'));
    const codeOf = (path: string) =>
      readRoomList(path, {}).then(
        () => undefined,
        (cause: unknown) => (cause instanceof ToolError ? cause.code : cause),
      );
    expect(await codeOf(join(folder, 'none.csv'))).toBe('file/not-found');
    expect(await codeOf(folder)).toBe('file/unreadable');
    if (process.platform === 'linux') expect(await codeOf('/dev/zero')).toBe('file/unreadable');
    await writeFile(join(folder, 'x'), '');
    expect(await codeOf(join(folder, 'x', 'y'))).toBe('file/not-found');
    await rm(folder, { recursive: true });
  });
});

describe('columns that the headings do not tell', () => {
  const strange = 'Wo;Was;Wieviel\nBüro;home-second 75/5B;reed.746\nAula;home-first 110/5B;reed.365\n';

  it('are named in a finding with the option to give, and read when it is given', async () => {
    const { list, seen, todo } = await readList(strange, {}, { families });
    expect(list).toBeUndefined();
    expect(seen('room/columns-unknown')[0]).toContain(
      'The headings are "Wo", "Was", "Wieviel". Perhaps: the label in "Was".',
    );
    expect(todo('room/columns-unknown')[0]).toContain('--columns "room=HEADING,label=Was"');
    const given = await readList(strange, { room: 'wo', label: '#2', running: 'Wieviel' });
    expect(given.list?.rooms).toMatchObject([
      { key: 'Büro', label: 'home-second 75/5B', running: 'reed.746' },
      { key: 'Aula', label: 'home-first 110/5B', running: 'reed.365' },
    ]);
    expect(given.seen('room/columns-read')).toEqual([
      'room from "Wo" (as named), label from "Was" (as named), running from "Wieviel" (as named).',
    ]);
  });

  it('are said to be wrong when a name is not there', async () => {
    const { list, codes, seen } = await readList(strange, { room: 'Ort', label: 'Was' });
    expect([list, codes]).toEqual([undefined, ['room/column-not-there']]);
    expect(seen('room/column-not-there')[0]).toContain('no single column "Ort" for room');
  });

  it('are asked for once where somebody can answer', async () => {
    const questions: ColumnQuestion[] = [];
    const ask = async (question: ColumnQuestion) => {
      questions.push(question);
      return { room: 0, label: 1 };
    };
    const { list, seen } = await readList(strange, {}, { families, ask });
    expect(questions).toMatchObject([
      {
        missing: ['room', 'label', 'running'],
        optional: ['running'],
        choices: [
          { column: 0, heading: 'Wo', cells: ['Büro', 'Aula'], perhaps: undefined },
          { column: 1, heading: 'Was', cells: ['home-second 75/5B', 'home-first 110/5B'], perhaps: 'label' },
          { column: 2, heading: 'Wieviel' },
        ],
      },
    ]);
    expect(list?.columns).toEqual({ room: 0, label: 1 });
    expect(seen('room/columns-read')[0]).toContain('room from "Wo" (as you picked)');
  });

  it('stay unknown where the answer is none of them', async () => {
    const { list, codes } = await readList(strange, {}, { ask: async () => undefined });
    expect([list, codes]).toEqual([undefined, ['room/columns-unknown']]);
  });

  it('are doubted aloud where another column holds the labels, and not changed', async () => {
    const text = 'Room;Type;Plate text\n1;wall;home-second 75/5B\n2;wall;home-first 110/5B\n3;wall;home-third 65/8S\n';
    const { list, seen, todo } = await readList(text, {}, { families });
    expect(list?.rooms.map(({ label }) => label)).toEqual(['wall', 'wall', 'wall']);
    expect(seen('room/label-column-doubtful')).toEqual([
      '3 cells of "Plate text" read as a label (sedge), of "Type" only 0.',
    ]);
    expect(todo('room/label-column-doubtful')[0]).toContain('--columns "label=Plate text"');
  });
});
