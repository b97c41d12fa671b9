import type { Course, Walk } from './board.ts';
import { carryOut, fillSticks } from './fill-sticks.ts';
import { firstCome } from './first-come.ts';
import { improveCourse } from './improve-course.ts';
import { loadAfterLoad } from './load-after-load.ts';

const mostLoadsInEveryOrder = 5;
const halvings = 24;

/**
 * The order in which the sticks go round, for the shortest time from the first preparation to the last panel. Never longer than
 * first come, first served, which is among what is tried; then load after load in several orders, and the sticks filled
 * evenly up to a limit that is lowered step by step. The best of all counts; of equal ones the one that prepares least.
 */
export function findCourse(walk: Walk): Course {
  const courses = [firstCome(walk, 'free-first'), firstCome(walk, 'done-first')];
  const orders = ordersOf(walk);
  for (const order of orders) courses.push(...present(loadAfterLoad(walk, order)));
  for (const order of orders.slice(0, mostFillings)) courses.push(...fillings(walk, order, orders[0] ?? order));
  const best = distinct(courses).toSorted(byTime).slice(0, mostImproved);
  const improved = best.map((course) => improveCourse(walk, course, mostVisits / best.length));
  return [...best, ...improved].toSorted(byTime)[0] ?? emptyCourse;
}

const mostFillings = 6;
const mostImproved = 12;
/** How many visits are laid out again at most: enough for any small round, and a moment's work for a large one. */
const mostVisits = 400_000;

const emptyCourse: Course = { moves: [], totalMinutes: 0, preparations: 0 };

const distinct = (courses: readonly Course[]): readonly Course[] => [
  ...new Map(courses.map((course) => [course.moves.map(({ stick, room }) => [stick, room]).join(), course])).values(),
];

const present = (course: Course | undefined): readonly Course[] => (course === undefined ? [] : [course]);

const byTime = (a: Course, b: Course): number => a.totalMinutes - b.totalMinutes || a.preparations - b.preparations;

/** The sticks filled evenly, up to a limit that is halved towards the lowest at which it comes out. */
function fillings(walk: Walk, order: readonly number[], inTime: readonly number[]): readonly Course[] {
  const courses: Course[] = [];
  let [low, high] = [0, firstCome(walk, 'done-first').totalMinutes];
  for (let step = 0; step < halvings && high - low > 1e-6; step++) {
    const limit = (low + high) / 2;
    const batches = fillSticks(walk, limit, order);
    if (batches === undefined) low = limit;
    else {
      courses.push(...present(carryOut(walk, batches, inTime)));
      high = limit;
    }
  }
  return courses;
}

/** Orders in which every load comes after those that must come first; with few loads every such order. */
function ordersOf(walk: Walk): readonly (readonly number[])[] {
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
  return loads.length > mostLoadsInEveryOrder ? sorted : [...sorted, ...permutations(loads)];
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
