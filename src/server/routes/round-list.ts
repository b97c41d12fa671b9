import { Hono } from 'hono';
import * as z from 'zod';
import { exitCodeOf } from '../../core/model/exit-codes.ts';
import { modes } from '../../core/model/mode.ts';
import { roomFields } from '../../core/model/room.ts';
import type { ListSeen } from '../../core/report/round-talk.ts';
import { checkMemory } from '../../core/rounds/list/check-list.ts';
import { type ListLaidOut, layOutList } from '../../core/rounds/list/lay-out-list.ts';
import { rowsInWords } from '../../core/rounds/list/list-table.ts';
import { columnMemoryFile, openColumnMemory } from '../../io/rooms/column-memory.ts';
import { type DroppedList, openDroppedList, takeList } from '../../io/rooms/dropped-list.ts';
import { mostListBytes } from '../../io/rooms/read-table.ts';
import { copyNameOf } from '../../io/rounds/plan-file.ts';
import { roundPlanDocument } from '../../render/json/round-documents.ts';
import { findingsOf } from '../../render/json/to-json.ts';
import { planRound } from '../../workflows/round-plan.ts';
import type { DeskAtHand } from '../desk-at-hand.ts';
import { bodyOf, bytesOf, refusal } from './body.ts';

const said = z.object({
  pointed: z.partialRecord(z.enum(roomFields), z.number().int().min(0).max(10_000)).optional(),
  mend: z
    .object({
      index: z.number().int().min(0).max(60_000),
      column: z.number().int().min(0).max(10_000),
      /** Undefined: as it stood in the list. */
      text: z.string().max(10_000).optional(),
    })
    .optional(),
  /** Of a workbook; another one has other columns and rows. */
  sheet: z.string().max(200).optional(),
});

const wholeNumber = (least: number, most: number) => z.number().int().min(least).max(most).optional();

const plan = z.object({
  mode: z.enum(modes),
  sticks: wholeNumber(1, 10_000),
  visitMinutes: wholeNumber(1, 1_440),
  setUpMinutes: wholeNumber(0, 1_440),
  /** A new folder beside the others; else the plan of the round on the desk is replaced, and its records stay. */
  isNew: z.boolean(),
});

/** A room list that is dropped: pointed at, mended, and made a plan of. */
export const roundListRoutes = (desk: DeskAtHand): Hono =>
  new Hono()
    .get('/', async (context) => {
      const list = await openDroppedList();
      const also = (context.req.query('rows') ?? '').split(',').map(Number);
      return context.json(list === undefined ? null : await seenOf(desk, list, also));
    })
    .post('/', async (context) => {
      const name = (context.req.query('name') ?? '').split(/[\\/]/).at(-1) || 'rooms.csv';
      await takeList(name.slice(0, 200), await bytesOf(context, mostListBytes));
      desk.tell({ event: 'changed', what: 'round' });
      return context.json({});
    })
    .put('/', async (context) => {
      const { pointed, mend, sheet } = await bodyOf(context, said);
      const list = await onDesk();
      if (sheet !== undefined) {
        await list.say({ pointed: undefined, mends: [], sheet });
        desk.tell({ event: 'changed', what: 'round' });
        return context.json({});
      }
      const others = list.words.mends.filter(
        (one) => mend === undefined || one.index !== mend.index || one.column !== mend.column,
      );
      const mends = mend?.text === undefined ? others : [...others, { ...mend, text: mend.text }];
      await list.say({ ...list.words, pointed: pointed ?? list.words.pointed, mends });
      if (pointed !== undefined) await keepPointed(desk, pointed);
      desk.tell({ event: 'changed', what: 'round' });
      return context.json({});
    })
    .delete('/', async (context) => {
      await (await openDroppedList())?.drop();
      desk.tell({ event: 'changed', what: 'round' });
      return context.json({});
    })
    .post('/plan', async (context) => {
      const { isNew, mode, sticks, visitMinutes, setUpMinutes } = await bodyOf(context, plan);
      const list = await onDesk();
      const there = await desk.rounds.folder();
      const folder = isNew || there === undefined ? await desk.rounds.begin(list.name) : there;
      const { families, shelf, paths } = await desk.rounds.kit();
      const { now, toolVersion } = await desk.parts.ports();
      const report = await planRound(
        { mode, sticks, visitMinutes, setUpMinutes, families, familyPaths: paths, dryRun: false },
        {
          readList: async () => {
            const { list: rooms, all } = await laidOut(desk, list, []);
            return { list: rooms, findings: all };
          },
          listCopy: async ({ sha256 }) => {
            const { bytes, extension } = await list.bytes();
            return { bytes, name: copyNameOf(sha256, extension) };
          },
          shelf,
          round: folder,
          now,
          toolVersion,
        },
      );
      if (report.kept) await desk.rounds.lay(folder);
      desk.tell({ event: 'changed', what: 'round' });
      return context.json(roundPlanDocument(report, exitCodeOf(report.verdict)));
    });

async function onDesk(): Promise<DroppedList> {
  const list = await openDroppedList();
  if (list === undefined) throw refusal(409, 'No room list lies on the desk any more: drop it once more.');
  return list;
}

const openMemory = () => openColumnMemory(columnMemoryFile(process.env));

async function laidOut(
  desk: DeskAtHand,
  list: DroppedList,
  alsoRows: readonly number[],
): Promise<ListLaidOut & Sheets> {
  const { families } = await desk.parts.families();
  const memory = await openMemory();
  const read = await list.read(memory.recall);
  const { pointed } = list.words;
  const laid = layOutList(list.name, read, { pointed, recall: memory.recall, families, alsoRows });
  const about = checkMemory(memory.place, memory.problem);
  const { sheets = [] } = read;
  return { ...laid, sheets, findings: [...about, ...laid.findings], all: [...about, ...laid.all] };
}

type Sheets = Pick<ListSeen, 'sheets'>;

/** What somebody pointed at is remembered for lists with the same headings, as the command does. */
async function keepPointed(desk: DeskAtHand, pointed: NonNullable<z.output<typeof said>['pointed']>): Promise<void> {
  const { headings } = await laidOut(desk, await onDesk(), []);
  if (headings.length > 0) await (await openMemory()).keep(headings, pointed);
}

async function seenOf(desk: DeskAtHand, list: DroppedList, also: readonly number[]): Promise<ListSeen> {
  const { headings, columns, missing, rows, findings, sheets, list: rooms } = await laidOut(desk, list, also);
  const { mends, sheet } = list.words;
  return {
    name: list.name,
    sheets,
    sheet: sheet ?? sheets.find(({ isHidden }) => !isHidden)?.name,
    headings,
    columns,
    missing,
    rows: rows.map(({ findings: ofRow, ...row }) => ({
      ...row,
      findings: findingsOf(ofRow),
      mended: mends.flatMap(({ index, column }) => (index === row.index ? [column] : [])),
    })),
    findings: findingsOf(findings),
    count: rooms === undefined ? undefined : rowsInWords(rooms.rooms.length, rooms.unused),
  };
}
