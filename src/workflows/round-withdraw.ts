import { finding } from '../core/findings/finding.ts';
import { verdictOf } from '../core/findings/verdict.ts';
import type { RoundRecord } from '../core/model/round-record.ts';
import type { RoundRecordReport } from '../core/report/round-record-reports.ts';
import { foldRound } from '../core/rounds/records/fold-round.ts';
import { recordInWords } from '../core/rounds/records/record-in-words.ts';
import { sealRecord } from '../core/rounds/records/seal-record.ts';
import { type RoundDesk, readRound } from './round-desk.ts';

export interface WithdrawRequest {
  /** An id, or its first eight or more characters. */
  readonly id: string;
  readonly because: string;
  readonly at: string;
  readonly who: string;
}

const fewestDigits = 8;

/** Says of an earlier line that it does not count. It stays where it is. */
export async function withdrawRecord(request: WithdrawRequest, desk: RoundDesk): Promise<RoundRecordReport> {
  const { status, relate, records, findings: known } = await readRound(desk);
  const wanted = request.id.trim().toLowerCase();
  const found = status.records.filter(
    ({ id }) => id === wanted || (wanted.length >= fewestDigits && id.startsWith(wanted)),
  );
  const base = { command: 'round record', place: desk.folder.place, ladder: undefined } as const;
  const refuse = (problem: ReturnType<typeof finding>): RoundRecordReport => {
    const findings = [problem, ...known];
    return { ...base, verdict: verdictOf(findings), findings, recorded: [], rooms: [] };
  };
  const [record, ...others] = found;
  if (record === undefined || others.length > 0) {
    return refuse(finding('record/id-unknown', request.id, { several: found.map(({ id }) => id) }));
  }
  if (record.kind === 'withdrawn') return refuse(finding('record/withdrawal-not-withdrawn', record.id));
  const { because, at, who } = request;
  const unsealed = {
    schema: 'stickwright/round-record/1',
    id: desk.newId(),
    at,
    notedAt: desk.now(),
    who,
    kind: 'withdrawn',
    withdraws: record.id,
    because,
  } as const;
  const line = sealRecord(unsealed, desk.sha256);
  await desk.folder.append([line]);
  const after = foldRound(status.round, [...records, line], relate);
  const findings = [finding('record/withdrawn', subjectOf(record), { what: recordInWords(record), because }), ...known];
  const rooms = after.rooms.filter(({ room }) => 'room' in record && room.key === record.room);
  return { ...base, verdict: verdictOf(findings), findings, recorded: [line], rooms };
}

const subjectOf = (record: RoundRecord): string => ('room' in record ? record.room : record.id);
