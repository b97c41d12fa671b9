import { type Finding, verdictOf, withAccepted } from '../core/findings/finding.ts';
import type { RoundRecordReport } from '../core/report/round-reports.ts';
import { checkKept, checkWithdrawal, checkWithdrawn } from '../core/rounds/records/check-records.ts';
import { failureLadder } from '../core/rounds/records/failure-ladder.ts';
import { foldRound } from '../core/rounds/records/fold-round.ts';
import { makeVisit, type VisitWish } from '../core/rounds/records/make-visit.ts';
import { roundRecordWithDigest } from '../core/rounds/records/own-digests.ts';
import type { RoomStatus, RoundStatus } from '../core/rounds/records/round-status.ts';
import { type RoundDesk, readRound } from './round-desk.ts';

/** Notes what a person says of one room, unless something about it must be looked at first. */
export async function recordVisit(
  wish: VisitWish,
  accepted: ReadonlyMap<string, string>,
  desk: RoundDesk,
): Promise<RoundRecordReport> {
  const { status, relate, records, findings: known } = await readRound(desk);
  const stamp = { id: desk.newId(), notedAt: desk.now() };
  const made = makeVisit(withReasons(wish, accepted), status, relate, stamp);
  const found = withAccepted(made.findings, accepted);
  const base = { command: 'round record', place: desk.folder.place } as const;
  if (made.record === undefined || verdictOf(found) === 'not-ready') {
    const rooms = made.room === undefined ? [] : [made.room];
    const findings = [...found, ...known];
    return { ...base, verdict: verdictOf(found), findings, recorded: [], rooms, ladder: undefined };
  }
  const record = roundRecordWithDigest(made.record, desk.sha256);
  await desk.folder.append([record]);
  const after = foldRound(status.round, [...records, record], relate);
  const room = after.rooms.find((one) => one.room.key === made.room?.room.key);
  const findings = [...found, ...checkKept(record, room), ...about(room, after), ...known];
  return {
    ...base,
    verdict: verdictOf(findings),
    findings,
    recorded: [record],
    rooms: room === undefined ? [] : [room],
    ladder: room?.progress === 'failed' ? failureLadder(room, after) : undefined,
  };
}

/** Why a person recorded something odd stands with the line for all who read it later. */
function withReasons(wish: VisitWish, accepted: ReadonlyMap<string, string>): VisitWish {
  const reasons = [...accepted].map(([code, because]) => `${code} accepted: ${because}`);
  const note = [...(wish.note === undefined ? [] : [wish.note]), ...reasons].join('\n');
  return note === '' ? wish : { ...wish, note };
}

/** What the round says of this room beside its state. */
const about = (room: RoomStatus | undefined, { findings }: RoundStatus): readonly Finding[] =>
  findings.filter(({ code, subject }) => code === 'record/disagreement' && subject === room?.room.key);

interface WithdrawRequest {
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
  const problems = checkWithdrawal(request.id, found);
  const [record] = found;
  if (record === undefined || problems.length > 0) {
    const findings = [...problems, ...known];
    return { ...base, verdict: verdictOf(findings), findings, recorded: [], rooms: [] };
  }
  const { because, at, who } = request;
  const undigested = {
    schema: 'stickwright/round-record/1',
    id: desk.newId(),
    at,
    notedAt: desk.now(),
    who,
    kind: 'withdrawn',
    withdraws: record.id,
    because,
  } as const;
  const line = roundRecordWithDigest(undigested, desk.sha256);
  await desk.folder.append([line]);
  const after = foldRound(status.round, [...records, line], relate);
  const findings = [...checkWithdrawn(record, because), ...known];
  const rooms = after.rooms.filter(({ room }) => 'room' in record && room.key === record.room);
  return { ...base, verdict: verdictOf(findings), findings, recorded: [line], rooms };
}
