import { type Finding, finding } from '../../findings/finding.ts';
import type { Load, Round } from '../../model/round.ts';
import type { RoundRecord } from '../../model/round-record.ts';
import { withoutWithdrawn } from '../plan/stick-codes.ts';
import type { RelateBuilds } from '../records/read-visit.ts';
import { waitingRooms } from './list-preparations.ts';

interface PreparationFacts {
  /** Whether the load's package still lies on the shelf. */
  readonly isOnShelf: boolean;
  /** The stick, and the code that its manifest gives. */
  readonly stick: { readonly target: string; readonly code: string | undefined };
  readonly relate: RelateBuilds;
}

/** What must be known of a load and of the stick that is to carry it, before the preparation of its own begins. */
export function checkPreparation(
  load: Load,
  round: Round,
  records: readonly RoundRecord[],
  { isOnShelf, stick, relate }: PreparationFacts,
): { readonly findings: readonly Finding[]; readonly approvals: string } {
  const { name } = load.package;
  const { findings, words } = checkApprovals(load, round, records);
  return {
    findings: [
      ...(isOnShelf ? [] : [finding('round/package-gone', name, { name, load: load.id })]),
      ...findings,
      ...checkReuse(stick, round, records, relate),
    ],
    approvals: words,
  };
}

interface Approvals {
  readonly findings: readonly Finding[];
  /** Who approved the wipe of which room, for the manifest. */
  readonly words: string;
}

/**
 * Whether every wipe of a load is still approved. An approval that was withdrawn since the plan was made counts no
 * more.
 */
function checkApprovals(load: Load, round: Round, records: readonly RoundRecord[]): Approvals {
  const now = approvalsBy(records);
  const withdrawn = withdrawnApprovals(records);
  const rooms = round.rooms.filter(({ key }) => load.rooms.includes(key));
  const approved = rooms.map(({ key, room, approval }) => {
    const planned = approval !== null && withdrawn.get(key)?.has(approval) !== true ? approval : undefined;
    return { room, by: now.get(key) ?? planned };
  });
  const open = approved.filter(({ by }) => by === undefined).map(({ room }) => room);
  const words = approved.map(({ room, by = 'nobody' }) => `${room} by ${by}`).join(', ');
  if (!load.wipes || open.length === 0) return { findings: [], words };
  return { findings: [finding('round/approval-gone', load.package.name, { rooms: open, load: load.id })], words };
}

function withdrawnApprovals(records: readonly RoundRecord[]): ReadonlyMap<string, ReadonlySet<string>> {
  const gone = new Set(records.flatMap((record) => (record.kind === 'withdrawn' ? [record.withdraws] : [])));
  const names = new Map<string, Set<string>>();
  for (const record of records) {
    if (record.kind !== 'approval' || !gone.has(record.id)) continue;
    names.set(record.room, new Set([...(names.get(record.room) ?? []), record.by]));
  }
  return names;
}

/** Who approved the wipe of which room, by the records that still count; the latest word counts. */
export function approvalsBy(records: readonly RoundRecord[]): ReadonlyMap<string, string> {
  const approvals = withoutWithdrawn(records).filter((record) => record.kind === 'approval');
  const inTime = approvals.toSorted((a, b) => Date.parse(a.at) - Date.parse(b.at));
  return new Map(inTime.map(({ room, by }) => [room, by]));
}

/**
 * Whether a stick may be written anew, by the code that its manifest gives. One that was prepared for this round, that
 * nobody recorded as come back, and whose load rooms still wait for, may be counted on by somebody.
 */
function checkReuse(
  stick: { readonly target: string; readonly code: string | undefined },
  round: Round,
  records: readonly RoundRecord[],
  relate: RelateBuilds,
): readonly Finding[] {
  const { target, code } = stick;
  const last = withoutWithdrawn(records)
    .filter((record) => (record.kind === 'prepared' || record.kind === 'returned') && record.stick === code)
    .toSorted((a, b) => Date.parse(a.at) - Date.parse(b.at))
    .at(-1);
  if (code === undefined || last?.kind !== 'prepared') return [];
  const load = round.loads.find(
    ({ package: { sha256 }, mode }) => sha256 === last.package?.sha256 && mode === last.mode,
  );
  const rooms = load === undefined ? [] : waitingRooms(round, records, relate)(load).map(({ room }) => room);
  if (load !== undefined && rooms.length === 0) return [];
  return [finding('round/stick-still-out', target, { code, load: load?.id ?? last.load, rooms })];
}
