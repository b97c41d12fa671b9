import type { Load, Round, RoundRoom, Turn } from '../../model/round.ts';
import type { RoundRecord } from '../../model/round-record.ts';
import { doubtsOfLoad, doubtsOfStick, sticksOf } from '../plan/stick-codes.ts';
import { writeCardCode } from '../records/card-code.ts';
import { approvalFinder } from './make-cards.ts';

/** The round at a glance. */
export interface CoverSheet {
  /** File name of the room list, without its folder and ending. */
  readonly name: string;
  /** RFC 3339. */
  readonly plannedAt: string;
  readonly rooms: number;
  /** Rows of the list that are no room of the round; undefined where the plan did not keep them. */
  readonly unused: Round['list']['unused'];
  readonly toUpdate: number;
  readonly upToDate: readonly RoundRoom[];
  /** They update themselves: somebody looks later. */
  readonly overTheAir: readonly RoundRoom[];
  /** Stopped, or cannot tell: no card; a person decides. */
  readonly needPerson: readonly RoundRoom[];
  /** Rooms whose panel is erased, with who approved it. */
  readonly wiping: readonly { readonly room: RoundRoom; readonly approval: string | null }[];
  readonly loads: readonly {
    readonly load: Load;
    readonly sticks: readonly string[];
    readonly rooms: readonly RoundRoom[];
    readonly labels: readonly string[];
    /** Codes of what nobody could prove of it or its sticks. */
    readonly unproven: readonly string[];
  }[];
  readonly sticks: number;
  readonly setUpMinutes: number;
  readonly totalMinutes: number;
  /** By their beginning, then by stick. */
  readonly turns: readonly (Turn & { readonly roomName: string | null; readonly wipes: boolean })[];
}

export function makeCover(round: Round, records: readonly RoundRecord[]): CoverSheet {
  const approvalOf = approvalFinder(round, records);
  const labelsOf = labelFinder(round);
  const rooms = new Map(round.rooms.map((room) => [room.key, room]));
  const wiping = new Set(round.loads.filter(({ wipes }) => wipes).map(({ id }) => id));
  const inState = (...states: readonly RoundRoom['state'][]) =>
    round.rooms.filter(({ state }) => states.includes(state));
  return {
    name: (round.list.path.split(/[/\\]/).at(-1) ?? '').replace(/\.[^.]+$/, ''),
    plannedAt: round.plannedAt,
    rooms: round.rooms.length,
    unused: round.list.unused,
    toUpdate: inState('update').length,
    upToDate: inState('up-to-date'),
    overTheAir: inState('over-the-air'),
    needPerson: inState('stopped', 'cannot-tell'),
    wiping: inState('update')
      .filter(({ wipes }) => wipes)
      .map((room) => ({ room, approval: approvalOf(room) })),
    loads: round.loads.map((load) => {
      const sticks = sticksOf(load, records);
      return {
        load,
        sticks: sticks.map(({ stick }) => stick ?? ''),
        rooms: load.rooms.flatMap((key) => rooms.get(key) ?? []),
        labels: labelsOf(load),
        unproven: doubtsOfLoad(load, sticks),
      };
    }),
    sticks: round.schedule.sticks,
    setUpMinutes: round.schedule.setUpMinutes,
    totalMinutes: round.schedule.totalMinutes,
    turns: [...round.schedule.turns]
      .sort((a, b) => a.startMinute - b.startMinute || a.stick - b.stick)
      .map((turn) => ({
        ...turn,
        roomName: turn.room === null ? null : (rooms.get(turn.room)?.room ?? turn.room),
        wipes: wiping.has(turn.load),
      })),
  };
}

/** The labels of a load's panels as their plates have them, capitals and all; each once, in the order of the list. */
export function labelFinder({ rooms }: Round): (load: Load) => readonly string[] {
  const labels = new Map(rooms.map(({ key, label }) => [key, label]));
  return (load) => [...new Set(load.rooms.map((key) => labels.get(key) ?? load.label))];
}

/** The tag of one stick. */
export interface StickTag {
  readonly load: Load;
  /** Null where it is still to be prepared: a line to write the code on. */
  readonly stick: string | null;
  /** When it was prepared, RFC 3339. */
  readonly preparedAt: string | null;
  /** Names of its rooms, in the order of the list. */
  readonly rooms: readonly string[];
  /** Labels of its panels, as the list has them from their plates; each once. */
  readonly labels: readonly string[];
  readonly code: string;
  /** Codes of what nobody could prove of it. */
  readonly unproven: readonly string[];
}

/**
 * A tag for each stick that carries one of the loads; and blank ones for as many as the schedule still wants of a load,
 * at least one where none was prepared. ONLY keeps the loads that some rooms take.
 */
export function makeTags(
  round: Round,
  records: readonly RoundRecord[],
  only?: ReadonlySet<string>,
): readonly StickTag[] {
  const names = new Map(round.rooms.map(({ key, room }) => [key, room]));
  const labelsOf = labelFinder(round);
  return round.loads
    .filter((load) => only === undefined || load.rooms.some((key) => only.has(key)))
    .flatMap((load) => {
      const sticks = sticksOf(load, records);
      const wanted = round.schedule.turns.filter((turn) => turn.room === null && turn.load === load.id).length;
      const blank = Math.max(0, Math.max(1, wanted) - sticks.length);
      const rooms = load.rooms.map((key) => names.get(key) ?? key);
      const tag = (stick: string | null, preparedAt: string | null, unproven: readonly string[]): StickTag => ({
        load,
        unproven,
        stick,
        preparedAt,
        rooms,
        labels: labelsOf(load),
        code: writeCardCode({ load: load.id, stick, rooms: load.rooms, more: 0 }),
      });
      return [
        ...sticks.map((one) => tag(one.stick, one.at, doubtsOfStick(one))),
        ...Array.from({ length: blank }, () => tag(null, null, load.unproven)),
      ];
    });
}
