import type { Load, Round, RoundRoom } from '../../model/round.ts';
import type { RoundRecord } from '../../model/round-record.ts';
import { foldRound } from '../records/fold-round.ts';
import type { RelateBuilds } from '../records/relate-builds.ts';

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
