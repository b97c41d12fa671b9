import type { Walk } from './board.ts';

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
