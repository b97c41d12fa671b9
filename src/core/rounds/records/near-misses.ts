import { distance } from 'fastest-levenshtein';
import { foldLookAlikes } from '../../label/look-alikes.ts';

/** How many to show: more is a list nobody reads. */
const most = 5;

/** The candidates that a person may have meant, the nearest first: for showing, never for taking. */
export function nearMisses<One>(
  typed: string,
  candidates: readonly One[],
  textsOf: (one: One) => readonly string[],
): readonly One[] {
  const wanted = foldLookAlikes(typed.trim());
  const farthest = Math.max(1, Math.floor(wanted.length / 3));
  return candidates
    .map((one) => ({ one, far: Math.min(...textsOf(one).map((text) => farness(wanted, text))) }))
    .filter(({ far }) => far <= farthest)
    .toSorted((a, b) => a.far - b.far)
    .slice(0, most)
    .map(({ one }) => one);
}

/** Edits to the text or to as many of its words as were typed; what contains the typed words as they stand is near, too. */
function farness(wanted: string, text: string): number {
  const other = foldLookAlikes(text.trim());
  if (wanted.length >= 2 && other.includes(wanted)) return 1;
  const words = other.split(' ');
  const count = wanted.split(' ').length;
  const runs = words.slice(count - 1).map((_, at) => words.slice(at, at + count).join(' '));
  return Math.min(...[other, ...runs].map((run) => distance(wanted, run)));
}
