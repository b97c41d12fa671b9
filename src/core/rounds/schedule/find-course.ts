import { type Course, firstCome, openRooms, startBoard, stickFor, type Walk } from './board.ts';
import { carryOut, type FillRule, fillSticks } from './fill-sticks.ts';
import { improveCourse, orderLoads } from './improve-course.ts';

/** Of longer rounds too few moves could be tried to gain anything. */
const mostVisitsToMove = 300;
const mostImproved = 12;
/** How many visits are laid out again at most: enough for any small round, and a moment's work for a larger one. */
const mostVisits = 400_000;
const mostFillings = 6;

/**
 * The order in which the sticks go round, for the shortest time from the first preparation to the last panel. Never
 * longer than first come, first served, which is among what is tried; then load after load in several orders, and the
 * sticks filled evenly up to a limit that is lowered step by step; of a round that is not too long the best of them are
 * improved move by move. Of equal ones the one that prepares least.
 */
export function findCourse(walk: Walk): Course {
  if (walk.rooms.flat().length > mostVisitsToMove) return shortest(candidates(walk));
  const best = [...distinct(candidates(walk))].toSorted(byTime).slice(0, mostImproved);
  return shortest([...best, ...best.map((course) => improveCourse(walk, course, mostVisits / best.length))]);
}

const byTime = (a: Course, b: Course): number => a.totalMinutes - b.totalMinutes || a.preparations - b.preparations;

function shortest(courses: Iterable<Course>): Course {
  let best: Course | undefined;
  for (const course of courses) if (best === undefined || byTime(course, best) < 0) best = course;
  return best ?? { moves: [], totalMinutes: 0, preparations: 0 };
}

function distinct(courses: Iterable<Course>): Iterable<Course> {
  const known = new Map<string, Course>();
  for (const course of courses) known.set(course.moves.map(({ stick, room }) => [stick, room]).join(), course);
  return known.values();
}

function* candidates(walk: Walk): Generator<Course> {
  yield firstCome(walk, 'free-first');
  yield firstCome(walk, 'done-first');
  const orders = orderLoads(walk);
  for (const order of orders) yield* present(loadAfterLoad(walk, order));
  for (const order of orders.slice(0, mostFillings)) {
    for (const rule of ['fullest', 'emptiest'] as const) yield* fillings(walk, order, orders[0] ?? order, rule);
  }
}

const present = (course: Course | undefined): readonly Course[] => (course === undefined ? [] : [course]);

/**
 * The sticks filled evenly, up to a limit that is halved towards the lowest at which it comes out: no lower than all
 * work, shared out.
 */
function* fillings(walk: Walk, order: readonly number[], inTime: readonly number[], rule: FillRule): Generator<Course> {
  let high = firstCome(walk, 'done-first').totalMinutes;
  let low = workOf(walk) / walk.sticks - finest(high);
  while (high - low > finest(high)) {
    const limit = (low + high) / 2;
    const batches = fillSticks(walk, limit, order, rule);
    if (batches === undefined) low = limit;
    else {
      yield* present(carryOut(walk, batches, inTime));
      high = limit;
    }
  }
}

/** Half a minute of a working day; less of a short round. */
const finest = (minutes: number): number => Math.max(minutes, 1) / 1_000;

/** The least that all sticks together are busy: every visit, and every load prepared once. */
function workOf({ visitMinutes, setUpMinutes, rooms }: Walk): number {
  const visits = rooms.flat();
  const minutes = visits.reduce((sum, load) => sum + (visitMinutes[load] ?? 0), 0);
  return [...new Set(visits)].reduce((sum, load) => sum + (setUpMinutes[load] ?? 0), minutes);
}

/**
 * Load after load in the given order, each of its rooms with the stick that would be done first: another stick is
 * prepared for a load only where that is quicker than waiting for one that has it. Undefined where the order lets a
 * room wait for a later load.
 */
function loadAfterLoad(walk: Walk, order: readonly number[]): Course | undefined {
  const board = startBoard(walk);
  const open = openRooms(walk, board);
  for (const load of order) {
    for (let room = open.next(load); room !== undefined; room = open.next(load)) {
      board.visit(stickFor(room, board, walk.sticks, 'done-first'), room);
      open.took(room);
    }
  }
  return walk.rooms.some((_, room) => board.wants(room) !== undefined) ? undefined : board.course();
}
