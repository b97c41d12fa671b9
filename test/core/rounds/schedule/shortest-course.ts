import type { Walk } from '../../../../src/core/rounds/schedule/board.ts';

interface State {
  readonly sticks: readonly { readonly free: number; readonly load: number }[];
  readonly rooms: readonly { readonly loads: readonly number[]; readonly ready: number }[];
  readonly last: number;
  readonly total: number;
}

/**
 * The shortest time that any course takes, by trying all: visits in the order in which they start, each with every
 * stick. Moving each visit as early as its stick and its room allow lengthens nothing, so no other course need be
 * tried. For small walks only.
 */
export function shortestMinutes({ sticks, visitMinutes, setUpMinutes, rooms }: Walk, atMost: number): number {
  let best = atMost;
  const known = new Set<string>();
  const minutes = (list: readonly number[], load: number): number => list[load] ?? 0;
  const search = (state: State): void => {
    const left = state.rooms.filter(({ loads }) => loads.length > 0);
    if (left.length === 0) {
      best = Math.min(best, state.total);
      return;
    }
    const longest = left.map(({ loads, ready }) =>
      loads.reduce((sum, load) => sum + minutes(visitMinutes, load), ready),
    );
    const work = left.flatMap(({ loads }) => loads).reduce((sum, load) => sum + minutes(visitMinutes, load), 0);
    const busy = state.sticks.reduce((sum, { free }) => sum + free, 0);
    const bound = Math.max(state.total, ...longest, (busy + work) / sticks);
    const key = JSON.stringify([state.last, state.sticks, left.map(({ loads, ready }) => [loads, ready])]);
    if (bound >= best - 1e-9 || known.has(key)) return;
    known.add(key);
    const tried = new Set<string>();
    for (const [at, room] of state.rooms.entries()) {
      const [load, ...rest] = room.loads;
      if (load === undefined) continue;
      for (const [stick, { free, load: carried }] of state.sticks.entries()) {
        const twin = JSON.stringify([room, free, carried]);
        if (tried.has(twin)) continue;
        tried.add(twin);
        const start = Math.max(free + (carried === load ? 0 : minutes(setUpMinutes, load)), room.ready);
        if (start < state.last) continue;
        const end = start + minutes(visitMinutes, load);
        search({
          sticks: state.sticks.with(stick, { free: end, load }).toSorted((a, b) => a.free - b.free || a.load - b.load),
          rooms: state.rooms
            .with(at, { loads: rest, ready: end })
            .toSorted((a, b) => a.loads.join().localeCompare(b.loads.join()) || a.ready - b.ready),
          last: start,
          total: Math.max(state.total, end),
        });
      }
    }
  };
  search({
    sticks: Array.from({ length: sticks }, () => ({ free: 0, load: -1 })),
    rooms: rooms.map((loads) => ({ loads, ready: 0 })),
    last: 0,
    total: 0,
  });
  return best;
}
