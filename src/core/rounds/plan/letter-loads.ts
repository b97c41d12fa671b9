import type { Turn } from '../../model/round.ts';

/** A letter for each load, in the order in which their first sticks are prepared: A … Z, AA, AB …, as the columns of a spreadsheet. */
export function letterLoads(turns: readonly Turn[]): ReadonlyMap<string, string> {
  const inOrder = [...new Set(turns.map(({ load }) => load))];
  return new Map(inOrder.map((load, index) => [load, letterAt(index)]));
}

function letterAt(index: number): string {
  const last = String.fromCharCode(65 + (index % 26));
  return index < 26 ? last : `${letterAt(Math.floor(index / 26) - 1)}${last}`;
}
