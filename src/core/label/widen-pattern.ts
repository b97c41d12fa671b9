import type { Grammar } from '../model/family.ts';
import { readWithGrammar } from './read-with-grammar.ts';

/** A run of digits in a pattern, and how many of them it takes. */
interface DigitRun {
  readonly from: number;
  readonly to: number;
  readonly least: number;
  /** Infinity where it takes any number. */
  readonly most: number;
  /** The part that it belongs to; undefined where it stands outside of all. */
  readonly part: string | undefined;
}

export interface Widening {
  readonly pattern: string;
  /** What takes other lengths from now on. */
  readonly changes: readonly { readonly part: string | undefined; readonly has: number; readonly takes: string }[];
}

/** `2`, `2 to 3`, `2 or more`. */
const takesInWords = ({ least, most }: DigitRun): string =>
  most === least ? String(least) : most === Number.POSITIVE_INFINITY ? `${least} or more` : `${least} to ${most}`;

/**
 * The pattern that also reads TEXT, where only the number of digits keeps it from doing so; undefined where something
 * else does, or where it reads it already. Only lengths of digits grow, and only as far as the text shows: every text
 * that was read is read as before, so no two values of a part can become equal.
 */
export function widenPattern(text: string, { pattern, absent }: Grammar): Widening | undefined {
  if (readWithGrammar(text, { pattern, absent }).parts !== undefined) return undefined;
  const runs = digitRuns(pattern);
  const relaxed = replaceRuns(pattern, runs, (_, at) => `(?<${runName(at)}>\\d+)`);
  const reading = readWithGrammar(text, { pattern: relaxed, absent: {} });
  const lengths = runs.map((_, at) => reading.parts?.[runName(at)]?.length);
  const changes = runs.flatMap((run, at) => {
    const has = lengths[at];
    return has === undefined || (has >= run.least && has <= run.most)
      ? []
      : [{ part: run.part, has, takes: takesInWords(run) }];
  });
  const wider = replaceRuns(pattern, runs, (run, at) => {
    const has = lengths[at];
    if (has === undefined || (has >= run.least && has <= run.most)) return undefined;
    const most = run.most === Number.POSITIVE_INFINITY ? '' : Math.max(run.most, has);
    return `\\d{${Math.min(run.least, has)},${most}}`;
  });
  return readWithGrammar(text, { pattern: wider, absent }).parts === undefined
    ? undefined
    : { pattern: wider, changes };
}

const runName = (at: number): string => `digitrun${at}`;

function replaceRuns(
  pattern: string,
  runs: readonly DigitRun[],
  by: (run: DigitRun, at: number) => string | undefined,
): string {
  return runs
    .map((run, at) => ({ run, text: by(run, at) }))
    .toReversed()
    .reduce(
      (text, { run, text: other }) =>
        other === undefined ? text : text.slice(0, run.from) + other + text.slice(run.to),
      pattern,
    );
}

/** Finds `\d` and `[0-9]` with their counts; what stands in other classes or after another backslash is none. */
function digitRuns(pattern: string): readonly DigitRun[] {
  const runs: DigitRun[] = [];
  const open: (string | undefined)[] = [];
  const step = /\(\?P?<([A-Za-z]\w*)>|\(|\)|(\\d|\[0-9\])(\{(\d+)(,(\d*))?\}|[+*?])?|\\.|\[(?:\\.|[^\]])*\]|./gs;
  for (const match of pattern.matchAll(step)) {
    const [whole, group, digits, count, least, comma, most] = match;
    if (whole.startsWith('(')) open.push(group);
    else if (whole === ')') open.pop();
    else if (digits !== undefined) {
      const part = open.findLast((name) => name !== undefined);
      runs.push({ from: match.index, to: match.index + whole.length, ...countOf(count, least, comma, most), part });
    }
  }
  return runs;
}

function countOf(count = '', least = '', comma = '', most = ''): Pick<DigitRun, 'least' | 'most'> {
  const any = Number.POSITIVE_INFINITY;
  if (count === '') return { least: 1, most: 1 };
  if (count === '+') return { least: 1, most: any };
  if (count === '*') return { least: 0, most: any };
  if (count === '?') return { least: 0, most: 1 };
  return { least: Number(least), most: comma === '' ? Number(least) : most === '' ? any : Number(most) };
}

/** Some texts that the wider pattern reads and the narrower one does not: an example with other numbers of digits. */
export function readAnew(examples: readonly string[], before: Grammar, after: Grammar): readonly string[] {
  const found = examples.flatMap((text) =>
    [...text.matchAll(/\d+/g)].flatMap(({ index, 0: digits }) =>
      [digits.slice(1), `${digits}0`, `${digits}00`].map(
        (other) => text.slice(0, index) + other + text.slice(index + digits.length),
      ),
    ),
  );
  const isNew = (text: string): boolean =>
    readWithGrammar(text, before).parts === undefined && readWithGrammar(text, after).parts !== undefined;
  return [...new Set(found)].filter(isNew);
}
