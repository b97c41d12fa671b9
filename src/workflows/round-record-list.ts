import { type Finding, finding } from '../core/findings/finding.ts';
import { verdictOf } from '../core/findings/verdict.ts';
import type { RoundRecordReport } from '../core/report/round-record-reports.ts';
import { findFilledColumns } from '../core/rounds/filled/filled-columns.ts';
import { type FilledRow, readFilledRow } from '../core/rounds/filled/read-filled-row.ts';
import type { ListTable } from '../core/rounds/list/list-table.ts';
import { timeInWords } from '../core/rounds/records/record-in-words.ts';
import type { RoundStatus } from '../core/rounds/records/round-status.ts';
import { type RoundDesk, readRound } from './round-desk.ts';
import { type TakenRows, takeRows } from './take-rows.ts';

export interface FilledListRequest {
  /** The path as given. */
  readonly source: string;
  /** Undefined where the file is no list; then FINDINGS say why. */
  readonly table: ListTable | undefined;
  readonly findings: readonly Finding[];
  /** The list's own heading of the room, where the plan knows it. */
  readonly roomHeading: string | undefined;
  readonly readTime: (text: string) => string | undefined;
  /** For rows that do not say. */
  readonly otherwise: { readonly at: string; readonly who: string };
}

/** Notes every good row of a filled-in list, each once however often the list is given; bad rows are named and left. */
export async function recordList(request: FilledListRequest, desk: RoundDesk): Promise<RoundRecordReport> {
  const read = await readRound(desk);
  const rows = readRows(request, read.status);
  const taken = takeRows(rows.filled, request.source, read, desk);
  await desk.folder.append(taken.records);
  const keys = new Set(taken.records.map((record) => ('room' in record ? record.room : '')));
  const findings = [
    ...request.findings,
    ...rows.findings,
    ...taken.bad,
    ...notes(request, rows, taken),
    ...taken.findings,
    ...read.findings,
  ];
  return {
    command: 'round record',
    verdict: verdictOf(findings),
    findings,
    place: desk.folder.place,
    recorded: taken.records,
    rooms: taken.status.rooms.filter(({ room }) => keys.has(room.key)),
    ladder: undefined,
  };
}

interface Rows {
  readonly filled: readonly FilledRow[];
  readonly empty: number;
  readonly findings: readonly Finding[];
}

function readRows(
  { source, table, roomHeading, readTime, otherwise }: FilledListRequest,
  { round }: RoundStatus,
): Rows {
  if (table === undefined) return { filled: [], empty: 0, findings: [] };
  const columns = findFilledColumns(table.rows, roomHeading);
  if ('missing' in columns) {
    return { filled: [], empty: 0, findings: [finding('record/list-without-headings', source, columns)] };
  }
  const context = { source, places: table.places, columns, rooms: round.rooms, readTime, otherwise };
  const readings = table.rows.slice(columns.index + 1).map((row) => readFilledRow(row, context));
  return {
    filled: readings.flatMap((reading) => (reading.state === 'filled' ? [reading.filled] : [])),
    empty: readings.filter(({ state }) => state === 'empty').length,
    findings: readings.flatMap((reading) => (reading.state === 'bad' ? [reading.finding] : [])),
  };
}

function notes({ source, otherwise }: FilledListRequest, rows: Rows, taken: TakenRows): readonly Finding[] {
  const some = <One>(count: number, make: () => One): readonly One[] => (count === 0 ? [] : [make()]);
  return [
    ...some(rows.empty, () => finding('record/rows-empty', source, { rows: rows.empty })),
    ...some(taken.known, () => finding('record/rows-known', source, { rows: taken.known })),
    ...some(taken.withdrawn, () => finding('record/rows-withdrawn', source, { rows: taken.withdrawn })),
    ...some(taken.withoutTime, () =>
      finding('record/time-assumed', source, { rows: taken.withoutTime, at: timeInWords(otherwise.at) }),
    ),
  ];
}
