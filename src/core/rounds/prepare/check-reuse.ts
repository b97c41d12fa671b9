import { type Finding, finding } from '../../findings/finding.ts';
import type { Round } from '../../model/round.ts';
import type { RoundRecord } from '../../model/round-record.ts';
import { withoutWithdrawn } from '../cards/stick-codes.ts';
import type { RelateBuilds } from '../records/relate-builds.ts';
import { waitingRooms } from './waiting-rooms.ts';

/**
 * Whether a stick may be written anew, by the code that its manifest gives. One that was prepared for this round, that nobody
 * recorded as come back, and whose load rooms still wait for, may be counted on by somebody.
 */
export function checkReuse(
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
