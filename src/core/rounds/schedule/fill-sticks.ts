import { type Course, openRooms, startBoard, type Walk } from './board.ts';

/** So many rooms with one load, on one stick. */
interface Batch {
  readonly load: number;
  readonly rooms: number;
}

/**
 * Which of the sticks that can take a whole load takes it: `fullest` leaves large gaps for large loads, `emptiest` lets
 * all begin alike.
 */
export type FillRule = 'fullest' | 'emptiest';

/**
 * Divides the rooms among the sticks so that none is busy for longer than `limitMinutes`, setting up included: a load
 * goes whole to a stick where one has room for it, else the emptiest stick takes what it can. Undefined where it does
 * not come out.
 */
export function fillSticks(
  { sticks, visitMinutes, setUpMinutes, rooms }: Walk,
  limitMinutes: number,
  order: readonly number[],
  rule: FillRule,
): readonly (readonly Batch[])[] | undefined {
  const busy = new Array<number>(sticks).fill(0);
  const batches: Batch[][] = busy.map(() => []);
  const counts = new Array<number>(visitMinutes.length).fill(0);
  for (const load of rooms.flat()) counts[load] = (counts[load] ?? 0) + 1;
  for (const load of order) {
    const [visit, setUp] = [visitMinutes[load] ?? 0, setUpMinutes[load] ?? 0];
    for (let left = counts[load] ?? 0; left > 0; ) {
      const room = busy.map((minutes) => roomsWithin(limitMinutes - minutes - setUp, visit));
      const whole = room.flatMap((most, stick) => (most >= left ? [stick] : []));
      const stick = whole.length > 0 ? byRule(whole, busy, rule) : room.indexOf(Math.max(...room));
      const taken = Math.min(left, room[stick] ?? 0);
      if (taken === 0) return undefined;
      batches[stick]?.push({ load, rooms: taken });
      busy[stick] = (busy[stick] ?? 0) + setUp + taken * visit;
      left -= taken;
    }
  }
  return batches;
}

/** A hair more than fits exactly: minutes are not always whole. */
const slack = 1e-9;

const roomsWithin = (minutes: number, visit: number): number =>
  minutes < -slack ? 0 : visit > 0 ? Math.floor((minutes + slack) / visit) : Number.MAX_SAFE_INTEGER;

const byRule = (sticks: readonly number[], busy: readonly number[], rule: FillRule): number => {
  const sign = rule === 'fullest' ? 1 : -1;
  return sticks.reduce((best, stick) => (sign * ((busy[stick] ?? 0) - (busy[best] ?? 0)) > 0 ? stick : best));
};

/**
 * Carries batches out, always the visit that can start first. Undefined where the sticks would wait for one another for
 * ever.
 */
export function carryOut(
  walk: Walk,
  batches: readonly (readonly Batch[])[],
  order: readonly number[],
): Course | undefined {
  const place = new Map(order.map((load, at) => [load, at]));
  const queues = batches.map((own) =>
    own
      .toSorted((a, b) => (place.get(a.load) ?? 0) - (place.get(b.load) ?? 0))
      .flatMap(({ load, rooms }) => new Array<number>(rooms).fill(load)),
  );
  const heads = queues.map(() => 0);
  const board = startBoard(walk);
  const open = openRooms(walk, board);
  for (let left = queues.reduce((sum, { length }) => sum + length, 0); left > 0; left--) {
    let best: { stick: number; room: number; minute: number } | undefined;
    for (const [stick, queue] of queues.entries()) {
      const load = queue[heads[stick] ?? 0];
      const room = load === undefined ? undefined : open.next(load);
      if (room === undefined) continue;
      const minute = board.startWith(stick, room);
      if (best === undefined || minute < best.minute) best = { stick, room, minute };
    }
    if (best === undefined) return undefined;
    board.visit(best.stick, best.room);
    open.took(best.room);
    heads[best.stick] = (heads[best.stick] ?? 0) + 1;
  }
  return board.course();
}

/**
 * Every load on a stick of its own, number for number, prepared once: the visit that can start first comes first, or
 * the order of the list where that is shorter.
 */
export function oneStickEach(walk: Walk): Course {
  const asListed = inOrderOfList(walk);
  const loads = walk.visitMinutes.map((_, load) => load);
  const counts = loads.map((load) => walk.rooms.filter((own) => own.includes(load)).length);
  const batches = loads.map((load) => [{ load, rooms: counts[load] ?? 0 }]);
  const inTime = carryOut({ ...walk, sticks: loads.length }, batches, loads) ?? asListed;
  return inTime.totalMinutes <= asListed.totalMinutes ? inTime : asListed;
}

function inOrderOfList(walk: Walk): Course {
  const board = startBoard({ ...walk, sticks: walk.visitMinutes.length });
  walk.rooms.forEach((loads, room) => {
    for (const load of loads) board.visit(load, room);
  });
  return board.course();
}
