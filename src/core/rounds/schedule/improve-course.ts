import { type Course, startBoard, type Walk } from './board.ts';

interface Visit {
  readonly room: number;
  readonly stick: number;
}

/**
 * Moves one visit after the other to another place in the order or to another stick, as long as that shortens the whole, or leaves it as
 * long and the sticks less busy. Never worse than what it is given; ends after
 * `mostVisits` visits that were laid out anew.
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
