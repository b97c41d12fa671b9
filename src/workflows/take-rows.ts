import { type Finding, finding, textsOf } from '../core/findings/finding.ts';
import { verdictOf } from '../core/findings/verdict.ts';
import type { RoundRecord } from '../core/model/round-record.ts';
import { contentOfRow, findKnown, idFromDigest } from '../core/rounds/filled/find-known.ts';
import type { FilledRow } from '../core/rounds/filled/read-filled-row.ts';
import { foldRound } from '../core/rounds/records/fold-round.ts';
import { type MadeVisit, makeVisit } from '../core/rounds/records/make-visit.ts';
import type { RoundStatus } from '../core/rounds/records/round-status.ts';
import { sealRecord } from '../core/rounds/records/seal-record.ts';
import type { ReadRound, RoundDesk } from './round-desk.ts';
import { keptFindings } from './round-record.ts';

export interface TakenRows {
  /** To be kept, sealed. */
  readonly records: readonly RoundRecord[];
  /** What is to be said of these. */
  readonly findings: readonly Finding[];
  /** Rows that cannot be used, and why. */
  readonly bad: readonly Finding[];
  /** Rows that say what is recorded already, or what was recorded and withdrawn. */
  readonly known: number;
  readonly withdrawn: number;
  readonly withoutTime: number;
  /** The round with the new records. */
  readonly status: RoundStatus;
}

type Wanted = NonNullable<MadeVisit['record']>;

/** The rows of a list one after the other: each is judged by the round as the rows before it leave it. */
export function takeRows(rows: readonly FilledRow[], source: string, read: ReadRound, desk: RoundDesk): TakenRows {
  const records: RoundRecord[] = [];
  const findings: Finding[] = [];
  const bad: Finding[] = [];
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
      bad.push(...badRows(row, made.findings, source));
    } else {
      const record = sealRecord(wanted, desk.sha256);
      records.push(record);
      changed.add(record.room);
      if (row.said.at === undefined) count.withoutTime++;
      findings.push(...made.findings, ...keptFindings(record, undefined));
    }
  }
  refold();
  return { records, findings, bad, ...count, status };
}

const withOwnId = (row: FilledRow, record: Wanted, { sha256 }: RoundDesk): Wanted => ({
  ...record,
  id: idFromDigest(sha256(contentOfRow(row, record))),
});

const badRows = (row: FilledRow, findings: readonly Finding[], source: string): readonly Finding[] =>
  findings
    .filter((found) => verdictOf([found]) === 'not-ready')
    .map((found) => {
      const { title, seen } = textsOf(found);
      return finding('record/bad-row', source, { place: row.place, title, seen });
    });
