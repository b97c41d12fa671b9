import { type Finding, finding, textsOf } from '../core/findings/finding.ts';
import { verdictOf } from '../core/findings/verdict.ts';
import type { RoundRecord } from '../core/model/round-record.ts';
import type { RoundRecordReport } from '../core/report/round-record-reports.ts';
import { findFilledColumns } from '../core/rounds/filled/filled-columns.ts';
import { contentOfRow, findKnown, idFromDigest } from '../core/rounds/filled/find-known.ts';
import { type FilledRow, readFilledRow } from '../core/rounds/filled/read-filled-row.ts';
import type { ListTable } from '../core/rounds/list/list-table.ts';
import { foldRound } from '../core/rounds/records/fold-round.ts';
import { makeVisit } from '../core/rounds/records/make-visit.ts';
import { timeInWords } from '../core/rounds/records/record-in-words.ts';
import type { RoundStatus } from '../core/rounds/records/round-status.ts';
import { sealRecord } from '../core/rounds/records/seal-record.ts';
import { type ReadRound, type RoundDesk, readRound } from './round-desk.ts';
import { keptFindings } from './round-record.ts';

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
  const work = new ListWork(read, desk);
  for (const row of rows.filled) work.take(row);
  await desk.folder.append(work.recorded);
  const { status } = work;
  const keys = new Set(work.recorded.map((record) => ('room' in record ? record.room : '')));
  const findings = [
    ...request.findings,
    ...rows.findings,
    ...work.problems(request.source),
    ...notes(request, rows, work),
    ...work.kept,
    ...read.findings,
  ];
  return {
    command: 'round record',
    verdict: verdictOf(findings),
    findings,
    place: desk.folder.place,
    recorded: work.recorded,
    rooms: status.rooms.filter(({ room }) => keys.has(room.key)),
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

/** The rows one after the other: each is judged by the round as the rows before it leave it. */
class ListWork {
  status: RoundStatus;
  readonly recorded: RoundRecord[] = [];
  readonly kept: Finding[] = [];
  readonly withoutTime: FilledRow[] = [];
  known = 0;
  withdrawn = 0;
  private readonly read: ReadRound;
  private readonly desk: RoundDesk;
  private readonly bad: { readonly row: FilledRow; readonly found: Finding }[] = [];
  /** Rooms that a row of this list changed since the round was folded. */
  private readonly changed = new Set<string>();

  constructor(read: ReadRound, desk: RoundDesk) {
    this.read = read;
    this.desk = desk;
    this.status = read.status;
  }

  take(row: FilledRow): void {
    const { records } = this.read;
    const made = this.make(row);
    if (made.record === undefined || verdictOf(made.findings) === 'not-ready') {
      this.bad.push(
        ...made.findings.filter((one) => verdictOf([one]) === 'not-ready').map((found) => ({ row, found })),
      );
      return;
    }
    const id = idFromDigest(this.desk.sha256(contentOfRow(row, made.record)));
    const wanted = { ...made.record, id };
    if (findKnown(row, wanted, [...this.status.records, ...this.recorded]) !== undefined) {
      this.known++;
      return;
    }
    if (findKnown(row, wanted, records) !== undefined) {
      this.withdrawn++;
      return;
    }
    const record = sealRecord(wanted, this.desk.sha256);
    this.recorded.push(record);
    this.changed.add(record.room);
    if (row.said.at === undefined) this.withoutTime.push(row);
    this.kept.push(...made.findings, ...keptFindings(record, undefined));
  }

  private make(row: FilledRow) {
    const stamp = { id: '', notedAt: this.desk.now() };
    const made = makeVisit(row.wish, this.status, this.read.relate, stamp);
    if (made.room === undefined || !this.changed.has(made.room.room.key)) return made;
    this.refold();
    return makeVisit(row.wish, this.status, this.read.relate, stamp);
  }

  refold(): void {
    this.changed.clear();
    this.status = foldRound(this.status.round, [...this.read.records, ...this.recorded], this.read.relate);
  }

  problems(source: string): readonly Finding[] {
    this.refold();
    return this.bad.map(({ row, found }) => {
      const { title, seen } = textsOf(found);
      return finding('record/bad-row', source, { place: row.place, title, seen });
    });
  }
}

function notes({ source, otherwise }: FilledListRequest, rows: Rows, work: ListWork): readonly Finding[] {
  const some = <One>(count: number, make: () => One): readonly One[] => (count === 0 ? [] : [make()]);
  return [
    ...some(rows.empty, () => finding('record/rows-empty', source, { rows: rows.empty })),
    ...some(work.known, () => finding('record/rows-known', source, { rows: work.known })),
    ...some(work.withdrawn, () => finding('record/rows-withdrawn', source, { rows: work.withdrawn })),
    ...some(work.withoutTime.length, () =>
      finding('record/time-assumed', source, { rows: work.withoutTime.length, at: timeInWords(otherwise.at) }),
    ),
  ];
}
