import type { Family } from '../model/family.ts';
import type { LabelReading } from '../model/panel-identity.ts';
import { findMisreads } from './find-misreads.ts';
import { normaliseLabel, upperForComparing } from './normalise-label.ts';
import { type PlateSpan, spansOfPlate } from './plate-spans.ts';
import { readLabel } from './read-label.ts';
import { isRead } from './read-with-grammar.ts';

export interface PlateCandidate {
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
 * `found`: exactly one model, alone in its line or behind the word "Model". `confirm`: exactly one, beside other text that may
 * belong to it. `several`: more than one. `misread`: none as it stands, but some that look alike. `none`: none.
 */
export interface PlateReading {
  readonly answer: 'found' | 'confirm' | 'several' | 'misread' | 'none';
  readonly candidates: readonly PlateCandidate[];
}

/** A plate holds some lines; more text than this is not a plate. */
const longestPlate = 10_000;
const mostGuesses = 40;

/**
 * Finds the model among rating, serial and date in the text of a whole plate. Everything any family reads is a candidate,
 * the longest in its place; what reads only over a line break stands beside the shorter reading, never instead of it.
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
