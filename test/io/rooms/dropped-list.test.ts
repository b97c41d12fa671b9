import { readFileSync } from 'node:fs';
import { afterEach, beforeEach, describe, expect, it, vi } from 'vitest';
import { layOutList } from '../../../src/core/rounds/list/lay-out-list.ts';
import { type ListWords, openDroppedList, takeList } from '../../../src/io/rooms/dropped-list.ts';
import { makeScratch, type Scratch } from '../../fixtures/volumes/scratch.ts';

const sample = (name: string): Buffer => readFileSync(`samples/rooms/${name}`);

/** The list as it lies on the desk now, with what was said of it. */
async function lay(words: ListWords = { pointed: undefined, mends: [] }) {
  await (await openDroppedList())?.say(words);
  const dropped = await openDroppedList();
  const read = await dropped?.read(() => undefined);
  if (dropped === undefined || read === undefined) throw new Error('no list lies on the desk');
  const wishes = { pointed: words.pointed, recall: () => undefined, families: [], alsoRows: [] };
  return { ...layOutList(dropped.name, read, wishes), read, dropped };
}

const codes = (list: Awaited<ReturnType<typeof lay>>): readonly string[] =>
  list.all.map(({ code, subject }) => `${code} ${subject}`);

describe('a list that was dropped on the desk', () => {
  let scratch: Scratch;
  beforeEach(() => {
    scratch = makeScratch();
    vi.stubEnv('XDG_DATA_HOME', scratch.path);
  });
  afterEach(() => {
    vi.unstubAllEnvs();
    scratch.undo();
  });

  it('is read as the command reads it, until somebody mends a cell: then the copy differs in that cell alone', async () => {
    await takeList('quillhaven.csv', sample('quillhaven.csv'));
    const first = await lay();
    const bad = first.rows.find(({ findings }) => findings.some(({ code }) => code === 'room/label-missing'));
    expect(bad).toMatchObject({ row: 23, unused: { why: 'unusable', room: 'Fernmoor 2.07' } });
    expect(sample('quillhaven.csv').equals((await first.dropped.bytes()).bytes)).toBe(true);

    const column = first.columns.find(({ field }) => field === 'label')?.column ?? -1;
    const mends = [{ index: bad?.index ?? -1, column, text: 'home-second 75/5B' }];
    const mended = await lay({ pointed: undefined, mends });
    expect(mended.list?.rooms.find(({ row }) => row === 23)).toMatchObject({ label: 'home-second 75/5B' });
    const gone = codes(first).filter((code) => !codes(mended).includes(code));
    expect(gone).toEqual(['room/label-missing quillhaven.csv:23']);
    expect(codes(mended).filter((code) => !codes(first).includes(code))).toEqual([]);
    const rows = first.read.table?.rows.map(({ row, cells }) => ({ row, cells: [...cells] })) ?? [];
    const row = rows[bad?.index ?? -1];
    if (row !== undefined) row.cells[column] = 'home-second 75/5B';
    expect(mended.read.table?.rows.map(({ row, cells }) => ({ row, cells }))).toEqual(rows);
    expect(mended.list?.form).toEqual(first.list?.form);

    // As it was again: the bytes as they came.
    const again = await lay();
    expect(codes(again)).toEqual(codes(first));
    expect(again.list?.sha256).toBe(first.list?.sha256);
  });

  it('keeps every doubt of a workbook that nobody mended, although its mended copy is CSV', async () => {
    await takeList('quillhaven.xlsx', sample('quillhaven.xlsx'));
    const first = await lay();
    const flawed = first.read.table?.rows.filter(({ flaws = [] }) => flaws.length > 0).length;
    expect(flawed).toBeGreaterThan(0);
    const bad = first.rows.find(({ findings }) => findings.some(({ code }) => code === 'room/label-missing'));
    const column = first.columns.find(({ field }) => field === 'label')?.column ?? -1;
    const mended = await lay({
      pointed: undefined,
      mends: [{ index: bad?.index ?? -1, column, text: 'K2-second 75/5B' }],
    });
    expect(codes(first).filter((code) => !codes(mended).includes(code))).toEqual([
      `room/label-missing quillhaven.xlsx:${bad?.row}`,
    ]);
    expect(mended.read.table?.rows.filter(({ flaws = [] }) => flaws.length > 0)).toHaveLength(flawed ?? 0);
    expect((await mended.dropped.bytes()).extension).toBe('.csv');
  });

  it('takes a row with a stray quotation mark or a moved cell when its cells are mended', async () => {
    await takeList('rooms.csv', Buffer.from('Room,Label,Notes\n1,"K2-second 75/5B,a\n2,K2-second 75/5B,b,c\n'));
    const first = await lay();
    expect(first.rows.map(({ findings }) => findings[0]?.code)).toEqual([
      'room/quote-not-closed',
      'room/too-many-cells',
    ]);
    const mended = await lay({
      pointed: undefined,
      mends: [
        { index: 1, column: 1, text: 'K2-second 75/5B' },
        { index: 2, column: 3, text: '' },
      ],
    });
    expect(mended.list?.rooms.map(({ room, label, notes }) => [room, label, notes])).toEqual([
      ['1', 'K2-second 75/5B', 'a'],
      ['2', 'K2-second 75/5B', 'b'],
    ]);
  });

  it('takes what somebody points at, and nothing else', async () => {
    await takeList('rooms.csv', Buffer.from('Wo,Was,Serial\nHall,K2-second 75/5B,SD1\nGym,K2-second 65/5B,SD2\n'));
    const first = await lay();
    expect(first.missing).toEqual(['room', 'label']);
    expect(first.columns.map(({ field, by, cells }) => [field, by, cells])).toEqual([
      [undefined, undefined, ['Hall', 'Gym']],
      [undefined, undefined, ['K2-second 75/5B', 'K2-second 65/5B']],
      ['serial', 'heading', ['SD1', 'SD2']],
    ]);
    const pointed = await lay({ pointed: { room: 0, label: 1 }, mends: [] });
    expect(pointed.missing).toEqual([]);
    expect(pointed.columns.map(({ field, by }) => [field, by])).toEqual([
      ['room', 'pointed'],
      ['label', 'pointed'],
      [undefined, undefined],
    ]);
    expect(pointed.list?.rooms.map(({ room, label, serial }) => [room, label, serial])).toEqual([
      ['Hall', 'K2-second 75/5B', undefined],
      ['Gym', 'K2-second 65/5B', undefined],
    ]);
  });
});
