import type { Load, Round, RoundRoom, Turn } from '../../model/round.ts';
import type { RoundRecord } from '../../model/round-record.ts';
import { approvalFinder } from './find-approval.ts';
import { doubtsOfLoad, sticksOf } from './stick-codes.ts';

/** The round at a glance. */
export interface CoverSheet {
  /** File name of the room list, without its folder and ending. */
  readonly name: string;
  /** RFC 3339. */
  readonly plannedAt: string;
  readonly rooms: number;
  readonly toUpdate: number;
  readonly upToDate: readonly RoundRoom[];
  /** Stopped, or cannot tell: no card; a person decides. */
  readonly needPerson: readonly RoundRoom[];
  /** Rooms whose panel is erased, with who approved it. */
  readonly wiping: readonly { readonly room: RoundRoom; readonly approval: string | null }[];
  readonly loads: readonly {
    readonly load: Load;
    readonly sticks: readonly string[];
    readonly rooms: readonly RoundRoom[];
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
  const rooms = new Map(round.rooms.map((room) => [room.key, room]));
  const wiping = new Set(round.loads.filter(({ wipes }) => wipes).map(({ id }) => id));
  const inState = (...states: readonly RoundRoom['state'][]) =>
    round.rooms.filter(({ state }) => states.includes(state));
  return {
    name: (round.list.path.split(/[/\\]/).at(-1) ?? '').replace(/\.[^.]+$/, ''),
    plannedAt: round.plannedAt,
    rooms: round.rooms.length,
    toUpdate: inState('update').length,
    upToDate: inState('up-to-date'),
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
