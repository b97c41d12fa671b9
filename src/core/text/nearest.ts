import { distance } from 'fastest-levenshtein';

/**
 * What somebody probably meant by WORD: those of KNOWN that it begins, holds, or is a slip or two away from, nearest
 * first. For a question to a person, never for a decision.
 */
export function nearestWords(word: string, known: readonly string[], most = 3): readonly string[] {
  const asked = word.toLowerCase();
  if (asked === '') return [];
  const reach = Math.max(1, Math.floor(asked.length / 3));
  return known
    .map((one) => ({ one, far: howFar(asked, one.toLowerCase()) }))
    .filter(({ far }) => far <= reach)
    .toSorted((a, b) => a.far - b.far)
    .slice(0, most)
    .map(({ one }) => one);
}

function howFar(asked: string, known: string): number {
  if (asked.length >= 3 && known.startsWith(asked)) return 0.5;
  if (asked.length >= 4 && known.includes(asked)) return 0.9;
  return distance(asked, known);
}

/** `Did you mean a, b or c?`, or nothing. */
export const didYouMean = (words: readonly string[]): string =>
  words.length === 0 ? '' : ` Did you mean ${orInWords(words)}?`;

/** `a, b or c`. */
export const orInWords = (words: readonly string[], joint = 'or'): string =>
  words.length < 2 ? words.join('') : `${words.slice(0, -1).join(', ')} ${joint} ${words.at(-1)}`;
