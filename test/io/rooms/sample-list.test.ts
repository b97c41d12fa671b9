import { execFileSync } from 'node:child_process';
import { mkdtemp, readFile, rm } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { describe, expect, it } from 'vitest';
import { readLabel } from '../../../src/core/label/read-label.ts';
import type { Room } from '../../../src/core/model/room.ts';
import { giveBack } from '../../../src/core/rounds/filled/export-changes.ts';
import { writeCsv } from '../../../src/io/rounds/write-export.ts';
import { sampleFamilies } from '../../core/label/families.ts';
import { readRoomList, summary } from '../../fixtures/rooms/read-list.ts';

const families = await sampleFamilies();
const read = async (name: string) => summary(await readRoomList(`samples/rooms/${name}`, {}, { families }));

describe('the room list of Quillhaven', () => {
  it('has sixty rooms, of which fifty stand with their panels', async () => {
    const { list } = await read('quillhaven.csv');
    const named = new Set(list?.rows.map(({ cells }) => cells[0]).filter((room) => room !== ''));
    for (const other of ['Room', 'Total']) named.delete(other);
    expect(named.size).toBe(60);
    expect(list?.rooms.length).toBe(51);
    expect(new Set(list?.rooms.map(({ room }) => room)).size).toBe(50);
  });

  it('has panels of all three families, and one label that was misread', async () => {
    const { list } = await read('quillhaven.csv');
    const byFamily = list?.rooms.map(({ label }) =>
      readLabel(label, families)
        .readings.map(({ family }) => family.family)
        .join(),
    );
    const count = (family: string) => byFamily?.filter((one) => one === family).length;
    expect([count('sedge'), count('lantern'), count('basalt'), count('')]).toEqual([28, 13, 9, 1]);
  });

  it('is all of it spoken for: the same findings every time', async () => {
    const { findings } = await read('quillhaven.csv');
    expect(
      findings.map(({ code, subject }) => `${code} ${subject.replace('samples/rooms/quillhaven.csv', '')}`),
    ).toEqual([
      'room/columns-read ',
      'room/running-mangled :16',
      'room/label-missing :23',
      'room/formula-text :37',
      'room/room-missing :40',
      'room/approval-without-name :46',
      'room/mode-unknown :47',
      'room/cell-mangled :48',
      'room/control-characters :49',
      'room/headings-again :53',
      'room/too-few-cells :56',
      'room/quote-not-closed :57',
      'room/too-many-cells :62',
      'room/cell-not-used :63',
      'room/total-row :74',
      'room/row-twice :64',
      'room/serial-in-two-rooms :38',
      'room/asset-twice :69',
      'room/panels-alike :71',
      'room/empty-rows ',
      'room/odd-spaces ',
    ]);
  });

  it('is the same in the workbook, but for what a spreadsheet does to it', async () => {
    const [text, workbook] = await Promise.all([read('quillhaven.csv'), read('quillhaven.xlsx')]);
    const ofWorkbook = new Map(workbook.list?.rooms.map((room) => [room.key, room]));
    const differing = new Map<string, Partial<Room>>([
      // A day where the build should stand.
      ['Fernmoor 1.02', { running: '20240117' }],
      // A formula without a result.
      ['Fernmoor 2.02', { running: undefined }],
    ]);
    for (const { row, ...room } of text.list?.rooms ?? []) {
      expect(ofWorkbook.get(room.key)).toEqual({ ...room, ...differing.get(room.key), row: expect.any(Number) });
      expect(row).toBeGreaterThan(4);
      ofWorkbook.delete(room.key);
    }
    // Quotation marks and delimiters are no trouble in a workbook.
    expect([...ofWorkbook.keys()]).toEqual(['Quill Lane Drama', 'Tallow House 5']);
    expect(workbook.codes.filter((code) => !text.codes.includes(code))).toEqual([
      'room/sheet-chosen',
      'room/date-as-build',
      'room/hidden-rows',
      'room/merged-rows',
    ]);
  });

  it('is given back byte for byte where no line was broken', async () => {
    const { list } = await read('quillhaven.csv');
    if (list === undefined) throw new Error('no list');
    const original = await readFile(list.source, 'utf8');
    const given = Buffer.from(writeCsv(giveBack(list, []), list.form).bytes).toString('utf8');
    const lines = (text: string) => text.replace('\uFEFF', '').split('\r\n');
    const broken = (line: string) => line.startsWith('Quill Lane Drama');
    expect(given.startsWith('\uFEFF')).toBe(true);
    expect(lines(given).filter((line) => !broken(line))).toEqual(
      lines(original)
        .slice(3)
        .filter((line) => !broken(line))
        // An inch sign in a cell is quoted as RFC 4180 wants it.
        .map((line) => line.replace(/;(New 75" .*?);;$/, (_, note: string) => `;"${note.replaceAll('"', '""')}";;`))
        // What a spreadsheet would run is no longer run (OWASP, CSV Injection).
        .map((line) => line.replace(';"=HYPERLINK(', `;"'=HYPERLINK(`)),
    );
  });

  it('comes from its script in every time zone', async () => {
    const folder = await mkdtemp(join(tmpdir(), 'stickwright-twin-'));
    const out = join(folder, 'twin.xlsx');
    execFileSync(process.execPath, ['samples/make-room-workbook.mjs', out], {
      env: { ...process.env, TZ: 'Asia/Tokyo' },
    });
    expect(await readFile(out)).toEqual(await readFile('samples/rooms/quillhaven.xlsx'));
    await rm(folder, { recursive: true });
  });
});
