import type { Family, Grammar } from '../model/family.ts';
import type { LabelReading } from '../model/panel-identity.ts';
import { normaliseLabel, upperForComparing } from '../text/label-text.ts';
import { modelHeading } from './find-model-in-plate.ts';
import { readLabel } from './read-label.ts';
import { isRead } from './read-with-grammar.ts';

/** A longer text is not a label with something around it. */
const longest = 80;
const around = /^[\s"'“”„«»‚‘’`´([]+|[\s"'“”„«»‘’`´)\].,;:!]+$/gu;

/**
 * A label as a person meant it who wrote it otherwise than it is printed: in quotation marks, behind "Model:", with a
 * full stop, with other separators. Undefined where a family reads it as it is, and where what was meant is not one
 * thing alone. A reading for a person to confirm, never one to go on with.
 */
export function readTidied(text: string, families: readonly Family[]): LabelReading | undefined {
  const grammars = families.map(({ label }) => ({ grammar: label, examples: label.examples.map((one) => one.text) }));
  const meant = tidied(text, grammars);
  return meant === undefined ? undefined : readLabel(meant, families);
}

interface Written {
  readonly grammar: Grammar;
  /** Labels of that grammar; where their separators stand is where they belong. */
  readonly examples: readonly string[];
}

/** The same with what is known of the grammars: the exact form, or undefined. */
export function tidied(text: string, known: readonly Written[]): string | undefined {
  const normalised = normaliseLabel(text);
  if (normalised.length > longest || known.some(({ grammar }) => isRead(normalised, grammar))) return undefined;
  const bare = withoutFrame(normalised);
  const forms = [bare, ...known.flatMap(({ examples }) => examples.map((example) => writtenLike(bare, example)))];
  const read = forms.filter((form) => form !== undefined && known.some(({ grammar }) => isRead(form, grammar)));
  const meant = new Map(read.map((form) => [upperForComparing(form ?? ''), form]));
  return meant.size === 1 ? [...meant.values()][0] : undefined;
}

function withoutFrame(text: string): string {
  const once = text.replace(around, '').replace(modelHeading, '').replace(around, '');
  return once === text ? once : withoutFrame(once);
}

const separators = /[^\p{L}\p{N}]+/gu;

/** The words of TEXT with the separators of EXAMPLE, where both have as many. */
function writtenLike(text: string, example: string): string | undefined {
  const words = text.split(separators);
  const between = [...normaliseLabel(example).matchAll(separators)].map(([one]) => one);
  if (words.length !== between.length + 1 || words.includes('')) return undefined;
  return words.map((word, at) => word + (between[at] ?? '')).join('');
}

/**
 * Where a text stops being a label of any of them: the longest beginning, and behind it the longest end, that some
 * example would make whole. Undefined where not even a quarter of it would do.
 */
export function placeUnread(
  text: string,
  known: readonly Written[],
): readonly [start: number, end: number] | undefined {
  const label = [...normaliseLabel(text)];
  if (label.length > longest) return undefined;
  const examples = known.flatMap(({ grammar, examples: some }) =>
    some.slice(0, 4).map((example) => ({ grammar, letters: [...normaliseLabel(example)] })),
  );
  const wholeWith = (make: (letters: readonly string[], at: number) => string): boolean =>
    examples.some(
      ({ grammar, letters }) =>
        letters.some((_letter, at) => isRead(make(letters, at), grammar)) ||
        isRead(make(letters, letters.length), grammar),
    );
  const begins = (count: number): boolean =>
    wholeWith((letters, at) => [...label.slice(0, count), ...letters.slice(at)].join(''));
  const ends = (from: number): boolean =>
    wholeWith((letters, at) => [...letters.slice(0, at), ...label.slice(from)].join(''));
  const counts = label.map((_letter, at) => label.length - at);
  const start = counts.find(begins);
  // A letter or two begin a label of somebody's.
  if (start === undefined || start < Math.max(3, label.length / 4)) return undefined;
  const end = label.map((_letter, at) => at).find((from) => from > start && ends(from)) ?? label.length;
  return [start, Math.max(end, start + 1)];
}
