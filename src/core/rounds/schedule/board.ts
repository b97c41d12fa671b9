/** Rooms to visit with sticks; everything by its number, from 0. */
export interface Walk {
  readonly sticks: number;
  /** Minutes at the panel, by load. */
  readonly visitMinutes: readonly number[];
  /** Minutes to prepare a stick at the desk, by load. */
  readonly setUpMinutes: readonly number[];
  /** For each room its loads, one after the other. */
  readonly rooms: readonly (readonly number[])[];
}

/** One thing that is done with a stick. */
export interface Move {
  readonly stick: number;
  readonly load: number;
  /** Undefined where the stick is prepared. */
  readonly room: number | undefined;
  readonly startMinute: number;
  readonly endMinute: number;
}

/** How a walk is carried out: moves in the order in which they were decided. */
export interface Course {
  readonly moves: readonly Move[];
  readonly totalMinutes: number;
  readonly preparations: number;
}

/** A course that is being decided, move by move. */
export interface Board {
  /** The load that a room waits for; undefined where it is through. */
  readonly wants: (room: number) => number | undefined;
  readonly stepsLeft: (room: number) => number;
  /** From when on a room may have its next visit. */
  readonly readyMinute: (room: number) => number;
  /** When a visit of this room with this stick could start, the stick being prepared anew where it carries something else. */
  readonly startWith: (stick: number, room: number) => number;
  readonly freeMinute: (stick: number) => number;
  readonly carries: (stick: number) => number | undefined;
  /** Gives the room its next visit with that stick. */
  readonly visit: (stick: number, room: number) => void;
  readonly course: () => Course;
}

/** The desk in the morning: no stick carries anything. A stick is prepared as soon as it is free, also while its room must still wait. */
export function startBoard({ sticks, visitMinutes, setUpMinutes, rooms }: Walk): Board {
  const free = new Array<number>(sticks).fill(0);
  const load = new Array<number | undefined>(sticks).fill(undefined);
  const ready = new Array<number>(rooms.length).fill(0);
  const done = new Array<number>(rooms.length).fill(0);
  const moves: Move[] = [];
  let totalMinutes = 0;
  const wants = (room: number): number | undefined => rooms[room]?.[done[room] ?? 0];
  const setUpFor = (stick: number, wanted: number): number =>
    load[stick] === wanted ? 0 : (setUpMinutes[wanted] ?? 0);
  const startWith = (stick: number, room: number): number =>
    Math.max((free[stick] ?? 0) + setUpFor(stick, wants(room) ?? 0), ready[room] ?? 0);
  return {
    wants,
    stepsLeft: (room) => (rooms[room]?.length ?? 0) - (done[room] ?? 0),
    readyMinute: (room) => ready[room] ?? 0,
    startWith,
    freeMinute: (stick) => free[stick] ?? 0,
    carries: (stick) => load[stick],
    visit(stick, room) {
      const wanted = wants(room);
      if (wanted === undefined) throw new TypeError(`room ${room} needs nothing more`);
      const startMinute = startWith(stick, room);
      if (load[stick] !== wanted) {
        const from = free[stick] ?? 0;
        moves.push({
          stick,
          load: wanted,
          room: undefined,
          startMinute: from,
          endMinute: from + setUpFor(stick, wanted),
        });
      }
      const endMinute = startMinute + (visitMinutes[wanted] ?? 0);
      moves.push({ stick, load: wanted, room, startMinute, endMinute });
      load[stick] = wanted;
      free[stick] = endMinute;
      ready[room] = endMinute;
      done[room] = (done[room] ?? 0) + 1;
      totalMinutes = Math.max(totalMinutes, endMinute);
    },
    course: () => ({ moves, totalMinutes, preparations: moves.filter(({ room }) => room === undefined).length }),
  };
}
