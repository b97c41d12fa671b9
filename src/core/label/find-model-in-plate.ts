import type { Family } from '../model/family.ts';
import type { LabelReading } from '../model/panel-identity.ts';
import { normaliseLabel, upperForComparing } from '../text/label-text.ts';
import { findMisreads } from './find-misreads.ts';
import { readLabel } from './read-label.ts';
import { isRead } from './read-with-grammar.ts';

interface PlateCandidate {
  /** As it stands on the plate, normalised. */
  readonly text: string;
  /** Counted from 1. */
  readonly line: number;
  /** The whole line, or the two lines that it reaches over. */
  readonly whole: string;
  readonly reading: LabelReading;
  /** Labels that it may be a misreading of; empty where a family reads it. */
  readonly misreadOf: readonly LabelReading[];
}

/**
 * `found`: exactly one model, alone in its line or behind the word "Model". `confirm`: exactly one, beside other text
 * that may belong to it. `several`: more than one. `misread`: none as it stands, but some that look alike. `none`:
 * none.
 */
export interface PlateReading {
  readonly answer: 'found' | 'confirm' | 'several' | 'misread' | 'none';
  readonly candidates: readonly PlateCandidate[];
}

/** A plate holds some lines; more text than this is not a plate. */
const longestPlate = 10_000;
const mostGuesses = 40;

/**
 * Finds the model among rating, serial and date in the text of a whole plate. Everything any family reads is a
 * candidate, the longest in its place; what reads only over a line break stands beside the shorter reading, never
 * instead of it.
 */
export function findModelInPlate(text: string, families: readonly Family[]): PlateReading {
  const spans = spansOfPlate(text.slice(0, longestPlate));
  const read = spans.filter((span) => families.some(({ label }) => isRead(span.text, label)));
  const longest = longestOf(read);
  const candidates = firstOfEach(longest).map((span) => toCandidate(span, families, []));
  const [first, ...others] = candidates;
  if (first === undefined) return guess(spans, families);
  if (others.length > 0) return { answer: 'several', candidates };
  const alone = longest.some((span) => span.alone);
  return { answer: alone ? 'found' : 'confirm', candidates };
}

const longestOf = (spans: readonly PlateSpan[]): readonly PlateSpan[] =>
  spans.filter((span) => !spans.some((other) => other !== span && contains(other, span)));

const contains = (outer: PlateSpan, inner: PlateSpan): boolean =>
  outer.line === inner.line && !outer.overLines && !inner.overLines && outer.from <= inner.from && outer.to >= inner.to;

function firstOfEach(spans: readonly PlateSpan[]): readonly PlateSpan[] {
  const keys = spans.map(({ text }) => upperForComparing(text));
  return spans.filter((_span, index) => keys.indexOf(keys[index] ?? '') === index);
}

const toCandidate = (
  { text, line, whole }: PlateSpan,
  families: readonly Family[],
  misreadOf: readonly LabelReading[],
): PlateCandidate => ({ text: normaliseLabel(text), line, whole, reading: readLabel(text, families), misreadOf });

/** Texts with letters and digits may be a model with a slip in it. */
function guess(spans: readonly PlateSpan[], families: readonly Family[]): PlateReading {
  const likely = firstOfEach(spans).filter(
    ({ text, overLines }) => !overLines && /\p{L}/u.test(text) && text.length > 3,
  );
  const misread = likely
    .slice(0, mostGuesses)
    .map((span) => ({ span, misreadOf: findMisreads(span.text, families) }))
    .filter(({ misreadOf }) => misreadOf.length > 0);
  const longest = new Set(longestOf(misread.map(({ span }) => span)));
  const candidates = misread
    .filter(({ span }) => longest.has(span))
    .map(({ span, misreadOf }) => toCandidate(span, families, misreadOf));
  return { answer: candidates.length > 0 ? 'misread' : 'none', candidates };
}

/** A run of whole words on a plate. */
interface PlateSpan {
  readonly text: string;
  /** Counted from 1; where it reaches over a line break, its first. */
  readonly line: number;
  readonly whole: string;
  /** Words of the line, from `from` up to and without `to`. */
  readonly from: number;
  readonly to: number;
  readonly overLines: boolean;
  /** Nothing else stands in the line but a heading such as "Model:". */
  readonly alone: boolean;
}

interface Line {
  readonly number: number;
  readonly text: string;
  readonly words: readonly string[];
  /** How many words are the heading. */
  readonly heading: number;
}

const mostWords = 5;
/** "Model:", "Typ", "M/N" and the like, as plates have them before the model. */
export const modelHeading =
  /^(?:(?:model|modell|modelo|modello|modèle|mod|type|typ|tipo|m\/n)\b[. ]*(?:name|code|number|no|nr|nº|n°)?[. ]*)[:=#]?\s*/iu;
const anyHeading = /^[\p{L} ./]{2,24}[:=]\s*/u;

/** All runs of up to five words in a line, and those that reach over one line break, longest first in each place. */
function spansOfPlate(text: string): readonly PlateSpan[] {
  const lines = text
    .split(/\r\n|[\n\r\v\f\u0085\u2028\u2029]/)
    .map((line, index) => toLine(line, index + 1))
    .filter(({ words }) => words.length > 0);
  return lines.flatMap((line, index) => [...within(line), ...over(line, lines[index + 1])]);
}

function toLine(raw: string, number: number): Line {
  const text = normaliseLabel(raw);
  const head = modelHeading.exec(text)?.[0] ?? anyHeading.exec(text)?.[0] ?? '';
  const headWords = wordsOf(head);
  return { number, text, words: [...headWords, ...wordsOf(text.slice(head.length))], heading: headWords.length };
}

const wordsOf = (text: string): readonly string[] => text.split(' ').filter((word) => word !== '');

/** Brackets, quotes and commas around a text do not belong to it. */
const bare = (words: readonly string[], joint: string): string =>
  words.join(joint).replace(/^[("'[,;:]+|[)"'\],;:]+$/g, '');

function within(line: Line): readonly PlateSpan[] {
  return line.words.flatMap((_word, from) =>
    lengths(line.words.length - from).map((length) => ({
      text: bare(line.words.slice(from, from + length), ' '),
      line: line.number,
      whole: line.text,
      from,
      to: from + length,
      overLines: false,
      alone: from === line.heading && from + length === line.words.length,
    })),
  );
}

/** From some word to the end of the line, and on into the next; a break may hide a space or nothing. */
function over(line: Line, next: Line | undefined): readonly PlateSpan[] {
  if (next === undefined) return [];
  return lengths(line.words.length).flatMap((before) =>
    lengths(next.words.length).flatMap((after) =>
      [' ', ''].map((joint) => {
        const head = line.words.slice(-before).join(' ');
        const text = bare([head, next.words.slice(0, after).join(' ')], joint);
        const from = line.words.length - before;
        const whole = `${line.text} / ${next.text}`;
        return { text, line: line.number, whole, from, to: line.words.length, overLines: true, alone: false };
      }),
    ),
  );
}

const lengths = (most: number): readonly number[] =>
  Array.from({ length: Math.min(most, mostWords) }, (_, index) => Math.min(most, mostWords) - index);
