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
interface Board {
  /** The load that a room waits for; undefined where it is through. */
  readonly wants: (room: number) => number | undefined;
  readonly stepsLeft: (room: number) => number;
  /** From when on a room may have its next visit. */
  readonly readyMinute: (room: number) => number;
  /**
   * When a visit of this room with this stick could start, the stick being prepared anew where it carries something
   * else.
   */
  readonly startWith: (stick: number, room: number) => number;
  readonly freeMinute: (stick: number) => number;
  readonly carries: (stick: number) => number | undefined;
  /** Gives the room its next visit with that stick. */
  readonly visit: (stick: number, room: number) => void;
  readonly course: () => Course;
}

/**
 * The desk in the morning: no stick carries anything. A stick is prepared as soon as it is free, also while its room
 * must still wait.
 */
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

/**
 * The rooms that wait for each load: those that never had to wait first, the longest way first; then as they become
 * ready.
 */
interface OpenRooms {
  /** The room to visit next with this load; undefined where none waits for it now. */
  readonly next: (load: number) => number | undefined;
  /** The room had its visit. */
  readonly took: (room: number) => void;
}

export function openRooms({ rooms, visitMinutes }: Walk, board: Board): OpenRooms {
  const queues: number[][] = visitMinutes.map(() => []);
  const heads = visitMinutes.map(() => 0);
  const inOrder = rooms.map((_, room) => room).toSorted((a, b) => board.stepsLeft(b) - board.stepsLeft(a));
  for (const room of inOrder) queues[board.wants(room) ?? -1]?.push(room);
  return {
    next: (load) => queues[load]?.[heads[load] ?? 0],
    took(room) {
      for (const [load, queue] of queues.entries())
        if (queue[heads[load] ?? 0] === room) heads[load] = (heads[load] ?? 0) + 1;
      const load = board.wants(room);
      const queue = load === undefined ? undefined : queues[load];
      if (load === undefined || queue === undefined) return;
      const minute = board.readyMinute(room);
      let at = queue.length;
      while (at > (heads[load] ?? 0) && board.readyMinute(queue[at - 1] ?? 0) > minute) at--;
      queue.splice(at, 0, room);
    },
  };
}

/** Which stick takes the next room: the one that is free first, or the one that would be done first. */
type StickRule = 'free-first' | 'done-first';

/** Room after room in the order of the list, each with all its visits, as a person without a plan would do it. */
export function firstCome(walk: Walk, rule: StickRule): Course {
  const board = startBoard(walk);
  walk.rooms.forEach((loads, room) => {
    for (const _ of loads) board.visit(stickFor(room, board, walk.sticks, rule), room);
  });
  return board.course();
}

/** Of equal ones the one with the lowest number. */
export function stickFor(room: number, board: Board, sticks: number, rule: StickRule): number {
  const minuteOf = rule === 'free-first' ? board.freeMinute : (stick: number) => board.startWith(stick, room);
  let best = 0;
  for (let stick = 1; stick < sticks; stick++) if (minuteOf(stick) < minuteOf(best)) best = stick;
  return best;
}
