import { type Finding, finding } from '../../findings/finding.ts';
import { compareEntries } from '../../label/compare-fit.ts';
import { findMisreads, findMissingParts } from '../../label/find-misreads.ts';
import type { PlateReading } from '../../label/find-model-in-plate.ts';
import { readLabel } from '../../label/read-label.ts';
import { unstatedParts } from '../../label/read-with-grammar.ts';
import { placeUnread, readTidied } from '../../label/tidy-label.ts';
import type { Family } from '../../model/family.ts';
import type { LabelReading } from '../../model/panel-identity.ts';
import { foreignInWords, foreignLetters, normaliseLabel, splitLabels } from '../../text/label-text.ts';
import { findInvisible, invisibleInWords } from '../../text/visible.ts';
import { changesInWords, placeInWords, widenForLabel } from './find-widening.ts';

/**
 * What can be said about a label alone: read by one family, by several, by none, or only if it was misread; and what in
 * it cannot be seen.
 */
export const checkLabel = (label: LabelReading, families: readonly Family[]): readonly Finding[] => [
  ...checkInvisible(label.text),
  ...judgeReadings(label, families),
];

function judgeReadings(label: LabelReading, families: readonly Family[]): readonly Finding[] {
  const subject = label.normalised;
  if (families.length === 0) return [...checkAlphabet(label), finding('label/no-family', subject)];
  const [first, ...others] = label.readings;
  if (first !== undefined && others.length === 0) {
    const unstated = unstatedParts(subject, first.family.label);
    return [finding('label/read', subject, { family: first.family.title, parts: first.parts, unstated })];
  }
  if (first !== undefined) {
    const titles = label.readings.map(({ family }) => family.title);
    return [finding('label/read-by-two-families', subject, { families: titles })];
  }
  return unread(label, families);
}

/** Where no family says what a label may hold, such a letter is still another one than it seems. */
export function checkAlphabet({ normalised }: Pick<LabelReading, 'normalised'>): readonly Finding[] {
  const letters = foreignLetters(normalised);
  if (letters.length === 0) return [];
  const facts = { letters: foreignInWords(letters), candidates: [] };
  return [finding('label/letters-of-another-alphabet', normalised, facts)];
}

function unread(label: LabelReading, families: readonly Family[]): readonly Finding[] {
  const known = families.map(({ label: grammar }) => ({ grammar, examples: grammar.examples.map(({ text }) => text) }));
  const meant = readTidied(label.text, families);
  if (meant !== undefined) {
    const parts = meant.readings.flatMap(({ family, parts }) =>
      Object.entries(parts).map(([part, value]) => ({ family: family.title, part, value })),
    );
    return [finding('label/read-otherwise', label.normalised, { exact: meant.normalised, parts })];
  }
  const candidates = findMisreads(label.text, families).map((candidate) => ({
    text: candidate.normalised,
    families: candidate.readings.map(({ family }) => family.title),
  }));
  const foreign = foreignLetters(label.normalised);
  if (foreign.length > 0) {
    const facts = { letters: foreignInWords(foreign), candidates: candidates.slice(0, 6) };
    return [finding('label/letters-of-another-alphabet', label.normalised, facts)];
  }
  if (candidates.length > 0) {
    return [finding('label/possible-misread', label.normalised, { candidates: candidates.slice(0, 6) })];
  }
  const wider = widenForLabel(label.text, families);
  if (wider.length > 0) {
    const places = wider.map((one) => ({
      family: one.family.title,
      place: placeInWords(one),
      what: changesInWords(one),
    }));
    return [finding('label/digits-differ', label.normalised, { places })];
  }
  const missing = findMissingParts(label.text, families).map(({ family, part, where, example }) => ({
    family: family.title,
    part,
    where,
    example,
  }));
  if (missing.length > 0) return [finding('label/part-missing', label.normalised, { missing })];
  const shown = families.map(({ title, label: { examples } }) => ({ title, example: examples[0]?.text ?? '' }));
  const place = placeUnread(label.text, known);
  return [finding('label/unreadable', label.normalised, { families: shown.slice(0, 6), place })];
}

/**
 * What was left out of a label because nobody can see it, and where: it came along from wherever the label was copied.
 */
export function checkInvisible(text: string): readonly Finding[] {
  const found = findInvisible(text);
  if (found.length === 0) return [];
  const facts = { places: invisibleInWords(found) };
  return found.some(({ reorders }) => reorders)
    ? [finding('label/order-changed', normaliseLabel(text), facts)]
    : [finding('label/invisible-characters', normaliseLabel(text), facts)];
}

export interface ListedLabel {
  /** Line of the list, from 1. */
  readonly line: number;
  readonly reading: LabelReading;
  readonly findings: readonly Finding[];
}

/** Reads a list of labels, one a line, each with what is to be said about it. */
export function checkLabelList(text: string, families: readonly Family[]): readonly ListedLabel[] {
  return splitLabels(text).map(({ line, text: label }) => {
    const reading = readLabel(label, families);
    return { line, reading, findings: checkLabel(reading, families) };
  });
}

/** Two people read the same plate: any difference stops. */
export function checkEntries(firstEntry: string, secondEntry: string): readonly Finding[] {
  const { answer, first, second, at } = compareEntries(firstEntry, secondEntry);
  if (at === undefined) return [];
  return [finding('label/entries-differ', first, { first, second, at, lookAlike: answer === 'misread' })];
}

/** What must be said before a model that was picked out of a plate's text is used. */
export function checkPlate(plate: PlateReading): readonly Finding[] {
  switch (plate.answer) {
    case 'found':
      return [];
    case 'confirm':
      return plate.candidates.map((one) => finding('label/plate-confirm', one.text, pick(one)));
    case 'several':
      return [finding('label/plate-several', 'plate', { candidates: plate.candidates.map(pick) })];
    case 'misread':
      return plate.candidates.map(({ text, misreadOf }) =>
        finding('label/possible-misread', text, {
          candidates: misreadOf.slice(0, 6).map(({ normalised, readings }) => ({
            text: normalised,
            families: readings.map(({ family }) => family.title),
          })),
        }),
      );
    case 'none':
      return [finding('label/plate-none', 'plate')];
  }
}

const pick = ({ text, line, whole }: { text: string; line: number; whole: string }) => ({ text, line, whole });
