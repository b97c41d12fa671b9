import { type Course, startBoard, type Walk } from './board.ts';

interface Visit {
  readonly room: number;
  readonly stick: number;
}

/**
 * Moves one visit after the other to another place in the order or to another stick, as long as that shortens the
 * whole, or leaves it as long and the sticks less busy. Never worse than what it is given; ends after `mostVisits`
 * visits that were laid out anew.
 */
export function improveCourse(walk: Walk, course: Course, mostVisits: number): Course {
  let best = layOut(walk, visitsOf(course));
  let left = mostVisits;
  for (let improved = true; improved; ) {
    improved = false;
    for (let from = 0; from < best.visits.length; from++) {
      for (const visits of neighboursOf(best.visits, from, walk.sticks)) {
        left -= visits.length;
        if (left < 0) return shorter(course, best.course);
        const next = layOut(walk, visits);
        if (!isBetter(next, best)) continue;
        best = next;
        improved = true;
      }
    }
  }
  return shorter(course, best.course);
}

const shorter = (one: Course, other: Course): Course => (other.totalMinutes < one.totalMinutes ? other : one);

const visitsOf = ({ moves }: Course): readonly Visit[] =>
  moves
    .toSorted((a, b) => a.startMinute - b.startMinute)
    .flatMap(({ room, stick }) => (room === undefined ? [] : [{ room, stick }]));

interface Layout {
  readonly visits: readonly Visit[];
  readonly course: Course;
  readonly busyMinutes: number;
}

function layOut(walk: Walk, visits: readonly Visit[]): Layout {
  const board = startBoard(walk);
  for (const { room, stick } of visits) board.visit(stick, room);
  let busyMinutes = 0;
  for (let stick = 0; stick < walk.sticks; stick++) busyMinutes += board.freeMinute(stick);
  return { visits, course: board.course(), busyMinutes };
}

function isBetter(one: Layout, other: Layout): boolean {
  const longer = one.course.totalMinutes - other.course.totalMinutes;
  return longer < -tolerance || (longer <= tolerance && one.busyMinutes < other.busyMinutes - tolerance);
}

const tolerance = 1e-9;

function* neighboursOf(visits: readonly Visit[], from: number, sticks: number): Generator<readonly Visit[]> {
  const moved = visits[from];
  if (moved === undefined) return;
  const rest = visits.toSpliced(from, 1);
  for (let to = 0; to <= rest.length; to++) {
    for (let stick = 0; stick < sticks; stick++) {
      if (to !== from || stick !== moved.stick) yield rest.toSpliced(to, 0, { room: moved.room, stick });
    }
  }
  for (let other = from + 1; other < visits.length; other++) {
    const swapped = visits[other];
    if (swapped === undefined) continue;
    yield visits.with(from, swapped).with(other, moved);
    yield visits.with(from, { ...moved, stick: swapped.stick }).with(other, { ...swapped, stick: moved.stick });
  }
}

const mostLoadsInEveryOrder = 5;

/** Orders in which every load comes after those that must come first; with few loads every such order. */
export function orderLoads(walk: Walk): readonly (readonly number[])[] {
  const depth = depthsOf(walk);
  if (depth === undefined) return [];
  const counts = new Array<number>(walk.visitMinutes.length).fill(0);
  for (const load of walk.rooms.flat()) counts[load] = (counts[load] ?? 0) + 1;
  const loads = counts.flatMap((count, load) => (count > 0 ? [load] : []));
  const work = (load: number): number =>
    (walk.setUpMinutes[load] ?? 0) + (counts[load] ?? 0) * (walk.visitMinutes[load] ?? 0);
  const sizes = [
    (load: number) => -work(load),
    work,
    (load: number) => -((walk.setUpMinutes[load] ?? 0) + (walk.visitMinutes[load] ?? 0)),
    () => 0,
  ];
  const sorted = sizes.map((size) =>
    loads.toSorted((a, b) => (depth[a] ?? 0) - (depth[b] ?? 0) || size(a) - size(b) || a - b),
  );
  const all = loads.length > mostLoadsInEveryOrder ? sorted : [...sorted, ...permutations(loads)];
  return [...new Map(all.map((order) => [order.join(), order])).values()];
}

/** How many loads must come before each; undefined where two wait for each other. */
function depthsOf({ rooms, visitMinutes }: Walk): readonly number[] | undefined {
  const depth = new Array<number>(visitMinutes.length).fill(0);
  for (let pass = 0; pass <= visitMinutes.length; pass++) {
    let settled = true;
    for (const loads of rooms) {
      for (let at = 1; at < loads.length; at++) {
        const least = (depth[loads[at - 1] ?? 0] ?? 0) + 1;
        const load = loads[at] ?? 0;
        if ((depth[load] ?? 0) >= least) continue;
        depth[load] = least;
        settled = false;
      }
    }
    if (settled) return depth;
  }
  return undefined;
}

function permutations(items: readonly number[]): readonly (readonly number[])[] {
  if (items.length < 2) return [items];
  return items.flatMap((item, at) => permutations(items.toSpliced(at, 1)).map((rest) => [item, ...rest]));
}
