import fc from 'fast-check';
import type { Course, Walk } from '../../../../src/core/rounds/schedule/board.ts';

interface Size {
  readonly sticks: number;
  readonly loads: number;
  readonly rooms: number;
  readonly visits: number;
}

/**
 * Walks of up to that size. Of two loads of a room the lower number comes first, so that no two rooms wait for each
 * other.
 */
export const walks = ({ sticks, loads, rooms, visits }: Size): fc.Arbitrary<Walk> => {
  const minutes = (min: number, max: number) =>
    fc.array(fc.integer({ min, max }), { minLength: loads, maxLength: loads });
  const all = Array.from({ length: loads }, (_, load) => load);
  return fc
    .record({
      sticks: fc.integer({ min: 1, max: sticks }),
      visitMinutes: minutes(1, 12),
      setUpMinutes: minutes(0, 8),
      rooms: fc.array(fc.subarray(all, { minLength: 1, maxLength: 3 }), { minLength: 1, maxLength: rooms }),
    })
    .filter((walk) => walk.rooms.flat().length <= visits);
};

/**
 * What is wrong with a course; undefined where it keeps every rule. Written from the rules, not from the code that
 * makes courses.
 */
export function faultOf(walk: Walk, { moves, totalMinutes }: Course): string | undefined {
  for (let stick = 0; stick < walk.sticks; stick++) {
    const own = moves
      .filter((move) => move.stick === stick)
      .toSorted((a, b) => a.startMinute - b.startMinute || a.endMinute - b.endMinute);
    let carried: number | undefined;
    let free = 0;
    for (const move of own) {
      if (move.startMinute < free) return `stick ${stick} is in two places at minute ${move.startMinute}`;
      const lasts = move.room === undefined ? walk.setUpMinutes[move.load] : walk.visitMinutes[move.load];
      if (move.endMinute - move.startMinute !== lasts) return `a move of stick ${stick} lasts the wrong time`;
      if (move.room === undefined) carried = move.load;
      else if (carried !== move.load) return `stick ${stick} carries ${carried}, not ${move.load}`;
      free = move.endMinute;
    }
  }
  for (const [room, loads] of walk.rooms.entries()) {
    const visits = moves.filter((move) => move.room === room).toSorted((a, b) => a.startMinute - b.startMinute);
    if (visits.map(({ load }) => load).join() !== loads.join()) return `room ${room} got ${visits.length} visits`;
    if (visits.some((visit, at) => at > 0 && visit.startMinute < (visits[at - 1]?.endMinute ?? 0)))
      return `room ${room} had two sticks`;
  }
  const last = moves.reduce((latest, { endMinute }) => Math.max(latest, endMinute), 0);
  return last === totalMinutes ? undefined : `it ends at ${last}, not at ${totalMinutes}`;
}
