import { type Finding, finding } from '../../findings/finding.ts';
import type { Load, Round, RoundRoom } from '../../model/round.ts';
import type { RoundRecord } from '../../model/round-record.ts';
import { sticksOf, withoutWithdrawn } from '../plan/stick-codes.ts';
import { foldRound } from '../records/fold-round.ts';
import type { RelateBuilds } from '../records/read-visit.ts';

/** One stick that is still to be made. */
export interface Preparation {
  readonly load: Load;
  /** Which of the load's sticks it is, from 1, and how many the schedule wants of it. */
  readonly number: number;
  readonly of: number;
}

interface Preparations {
  /** In the order in which the sticks are wanted. */
  readonly todo: readonly Preparation[];
  readonly findings: readonly Finding[];
}

/**
 * The sticks that the schedule wants and that are not there yet. A load whose rooms are all done needs none any more;
 * sticks on record with the same package and mode count, unless they came back changed, unreadable or cleared since.
 */
export function listPreparations(round: Round, records: readonly RoundRecord[], relate: RelateBuilds): Preparations {
  const findings: Finding[] = [];
  const waitingFor = waitingRooms(round, records, relate);
  const spoilt = spoiltSticks(records);
  const missing = new Map<Load, { readonly have: number; readonly wanted: number }>();
  for (const load of round.loads) {
    const wanted = round.schedule.turns.filter((turn) => turn.room === null && turn.load === load.id).length;
    const codes = sticksOf(load, records).flatMap(({ stick }) => (stick === null || spoilt.has(stick) ? [] : [stick]));
    if (waitingFor(load).length === 0) {
      findings.push(finding('round/load-done', load.package.name, { load: load.id, rooms: load.rooms.length }));
    } else if (codes.length >= wanted) {
      findings.push(finding('round/load-ready', load.package.name, { load: load.id, codes }));
    } else missing.set(load, { have: codes.length, wanted });
  }
  return { todo: inOrderOfTurns(round, missing), findings };
}

/** The first turns of a load are those that its sticks on record have. */
function inOrderOfTurns(
  { schedule }: Round,
  missing: ReadonlyMap<Load, { readonly have: number; readonly wanted: number }>,
): readonly Preparation[] {
  const numbers = new Map<Load, number>();
  const byId = new Map([...missing.keys()].map((load) => [load.id, load]));
  return schedule.turns.flatMap((turn) => {
    const load = byId.get(turn.load);
    const count = load === undefined ? undefined : missing.get(load);
    if (turn.room !== null || load === undefined || count === undefined) return [];
    const number = (numbers.get(load) ?? 0) + 1;
    numbers.set(load, number);
    return number > count.have ? [{ load, number, of: count.wanted }] : [];
  });
}

/** Sticks that came back in a state in which nobody should carry them on. */
function spoiltSticks(records: readonly RoundRecord[]): ReadonlySet<string> {
  const last = new Map<string, RoundRecord>();
  const inTime = withoutWithdrawn(records).toSorted((a, b) => Date.parse(a.at) - Date.parse(b.at));
  for (const record of inTime) {
    if ((record.kind === 'prepared' || record.kind === 'returned') && record.stick !== null)
      last.set(record.stick, record);
  }
  return new Set(
    [...last].flatMap(([stick, record]) =>
      record.kind === 'returned' && (record.state === 'changed' || record.state === 'unreadable') ? [stick] : [],
    ),
  );
}

/** The rooms that still need a load, by what is on record: its step is due, or comes after the one that is due. */
export function waitingRooms(
  round: Round,
  records: readonly RoundRecord[],
  relate: RelateBuilds,
): (load: Load) => readonly RoundRoom[] {
  const { rooms } = foldRound(round, records, relate);
  return (load) =>
    rooms.flatMap(({ room, next }) => {
      const at = room.steps.findIndex((step) => step.load === load.id);
      return at >= 0 && next !== undefined && at >= next.number ? [room] : [];
    });
}
