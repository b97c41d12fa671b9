import { type Finding, verdictOf } from '../core/findings/finding.ts';
import type { RoundRecord } from '../core/model/round-record.ts';
import type { RoundRecordReport } from '../core/report/round-reports.ts';
import { checkFilledList } from '../core/rounds/filled/check-rows.ts';
import { findFilledColumns } from '../core/rounds/filled/filled-columns.ts';
import {
  contentOfRow,
  type FilledRow,
  findKnown,
  idFromDigest,
  readFilledRow,
} from '../core/rounds/filled/read-filled-row.ts';
import { checkListFile, type ListReading } from '../core/rounds/list/check-list.ts';
import { checkKept } from '../core/rounds/records/check-records.ts';
import { foldRound } from '../core/rounds/records/fold-round.ts';
import { type MadeVisit, makeVisit } from '../core/rounds/records/make-visit.ts';
import { roundRecordWithDigest } from '../core/rounds/records/own-digests.ts';
import type { RoundStatus } from '../core/rounds/records/round-status.ts';
import { type ReadRound, type RoundDesk, readRound } from './round-desk.ts';

interface FilledListRequest {
  /** The path as given. */
  readonly source: string;
  readonly read: ListReading;
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
  const taken = takeRows(rows.filled, read, desk);
  await desk.folder.append(taken.records);
  const keys = new Set(taken.records.map((record) => ('room' in record ? record.room : '')));
  const findings = [
    ...checkListFile(request.source, request.read),
    ...checkFilledList({ ...rows, ...taken, source: request.source, at: request.otherwise.at }),
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
  /** Cells that cannot be understood. */
  readonly cells: readonly Finding[];
  readonly unnamed: Parameters<typeof checkFilledList>[0]['unnamed'];
}

function readRows(
  { source, read: { table }, roomHeading, readTime, otherwise }: FilledListRequest,
  { round }: RoundStatus,
): Rows {
  if (table === undefined) return { filled: [], empty: 0, cells: [], unnamed: undefined };
  const columns = findFilledColumns(table.rows, roomHeading);
  if ('missing' in columns) return { filled: [], empty: 0, cells: [], unnamed: columns };
  const context = { source, places: table.places, columns, rooms: round.rooms, readTime, otherwise };
  const readings = table.rows.slice(columns.index + 1).map((row) => readFilledRow(row, context));
  return {
    filled: readings.flatMap((reading) => (reading.state === 'filled' ? [reading.filled] : [])),
    empty: readings.filter(({ state }) => state === 'empty').length,
    cells: readings.flatMap((reading) => (reading.state === 'bad' ? [reading.finding] : [])),
    unnamed: undefined,
  };
}

interface TakenRows {
  /** To be kept, sealed. */
  readonly records: readonly RoundRecord[];
  /** What is to be said of these. */
  readonly findings: readonly Finding[];
  /** Rows that cannot be used, and why. */
  readonly refused: { readonly row: FilledRow; readonly findings: readonly Finding[] }[];
  /** Rows that say what is recorded already, or what was recorded and withdrawn. */
  readonly known: number;
  readonly withdrawn: number;
  readonly withoutTime: number;
  /** The round with the new records. */
  readonly status: RoundStatus;
}

type Wanted = NonNullable<MadeVisit['record']>;

/** The rows of a list one after the other: each is judged by the round as the rows before it leave it. */
function takeRows(rows: readonly FilledRow[], read: ReadRound, desk: RoundDesk): TakenRows {
  const records: RoundRecord[] = [];
  const findings: Finding[] = [];
  const refused: TakenRows['refused'] = [];
  const count = { known: 0, withdrawn: 0, withoutTime: 0 };
  let status = read.status;
  /** Rooms that a row of this list changed since the round was folded: only these need it folded again. */
  const changed = new Set<string>();
  const refold = (): void => {
    changed.clear();
    status = foldRound(status.round, [...read.records, ...records], read.relate);
  };
  const make = (row: FilledRow): MadeVisit => makeVisit(row.wish, status, read.relate, { id: '', notedAt: desk.now() });

  for (const row of rows) {
    let made = make(row);
    if (made.room !== undefined && changed.has(made.room.room.key)) {
      refold();
      made = make(row);
    }
    const wanted = made.record === undefined ? undefined : withOwnId(row, made.record, desk);
    // What is recorded already is not judged again: the round has gone on since.
    const twin = wanted && findKnown(row, wanted, [...read.records, ...records]);
    if (wanted !== undefined && twin !== undefined) {
      const counts = findKnown(row, wanted, [...read.status.records, ...records]) !== undefined;
      count[counts ? 'known' : 'withdrawn']++;
    } else if (wanted === undefined || verdictOf(made.findings) === 'not-ready') {
      refused.push({ row, findings: made.findings });
    } else {
      const record = roundRecordWithDigest(wanted, desk.sha256);
      records.push(record);
      changed.add(record.room);
      if (row.said.at === undefined) count.withoutTime++;
      findings.push(...made.findings, ...checkKept(record, undefined));
    }
  }
  refold();
  return { records, findings, refused, ...count, status };
}

const withOwnId = (row: FilledRow, record: Wanted, { sha256 }: RoundDesk): Wanted => ({
  ...record,
  id: idFromDigest(sha256(contentOfRow(row, record))),
});
