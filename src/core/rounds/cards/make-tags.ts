import type { Load, Round } from '../../model/round.ts';
import type { RoundRecord } from '../../model/round-record.ts';
import { writeCardCode } from './card-code.ts';
import { doubtsOfStick, sticksOf } from './stick-codes.ts';

/** The tag of one stick. */
export interface StickTag {
  readonly load: Load;
  /** Null where it is still to be prepared: a line to write the code on. */
  readonly stick: string | null;
  /** Day of its preparation, `2026-09-14`, at the desk that prepared it. */
  readonly date: string | null;
  /** Names of its rooms, in the order of the list. */
  readonly rooms: readonly string[];
  readonly code: string;
  /** Codes of what nobody could prove of it. */
  readonly unproven: readonly string[];
}

/**
 * A tag for each stick that carries one of the loads; and blank ones for as many as the schedule still wants of a load, at
 * least one where none was prepared. ONLY keeps the loads that some rooms take.
 */
export function makeTags(
  round: Round,
  records: readonly RoundRecord[],
  only?: ReadonlySet<string>,
): readonly StickTag[] {
  const names = new Map(round.rooms.map(({ key, room }) => [key, room]));
  return round.loads
    .filter((load) => only === undefined || load.rooms.some((key) => only.has(key)))
    .flatMap((load) => {
      const sticks = sticksOf(load, records);
      const wanted = round.schedule.turns.filter((turn) => turn.room === null && turn.load === load.id).length;
      const blank = Math.max(0, Math.max(1, wanted) - sticks.length);
      const rooms = load.rooms.map((key) => names.get(key) ?? key);
      const tag = (stick: string | null, date: string | null, unproven: readonly string[]): StickTag => ({
        load,
        unproven,
        stick,
        date,
        rooms,
        code: writeCardCode({ load: load.id, stick, rooms: load.rooms, more: 0 }),
      });
      return [
        ...sticks.map((one) => tag(one.stick, one.at.slice(0, 10), doubtsOfStick(one))),
        ...Array.from({ length: blank }, () => tag(null, null, load.unproven)),
      ];
    });
}
