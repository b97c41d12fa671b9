import { type Finding, finding } from '../../findings/finding.ts';
import { findMisreads } from '../../label/find-misreads.ts';
import { findMissingParts } from '../../label/find-missing-part.ts';
import { unstatedParts } from '../../label/read-with-grammar.ts';
import type { Family } from '../../model/family.ts';
import type { LabelReading } from '../../model/panel-identity.ts';
import { checkInvisible } from './check-invisible.ts';

/** What can be said about a label alone: read by one family, by several, by none, or only if it was misread; and what in it cannot be seen. */
export const checkLabel = (label: LabelReading, families: readonly Family[]): readonly Finding[] => [
  ...checkInvisible(label.text),
  ...judgeReadings(label, families),
];

function judgeReadings(label: LabelReading, families: readonly Family[]): readonly Finding[] {
  const subject = label.normalised;
  if (families.length === 0) return [finding('label/no-family', subject)];
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

function unread(label: LabelReading, families: readonly Family[]): readonly Finding[] {
  const candidates = findMisreads(label.text, families).map((candidate) => ({
    text: candidate.normalised,
    families: candidate.readings.map(({ family }) => family.title),
  }));
  if (candidates.length > 0) {
    return [finding('label/possible-misread', label.normalised, { candidates: candidates.slice(0, 6) })];
  }
  const missing = findMissingParts(label.text, families).map(({ family, part, where, example }) => ({
    family: family.title,
    part,
    where,
    example,
  }));
  if (missing.length > 0) return [finding('label/part-missing', label.normalised, { missing })];
  const shown = families.map(({ title, label: { examples } }) => ({ title, example: examples[0]?.text ?? '' }));
  return [finding('label/unreadable', label.normalised, { families: shown.slice(0, 6) })];
}
