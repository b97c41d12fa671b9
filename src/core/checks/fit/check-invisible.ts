import { type Finding, finding } from '../../findings/finding.ts';
import { findInvisible, invisibleInWords } from '../../label/invisible-characters.ts';
import { normaliseLabel } from '../../label/normalise-label.ts';

/** What was left out of a label because nobody can see it, and where: it came along from wherever the label was copied. */
export function checkInvisible(text: string): readonly Finding[] {
  const found = findInvisible(text);
  if (found.length === 0) return [];
  const facts = { places: invisibleInWords(found) };
  return found.some(({ reorders }) => reorders)
    ? [finding('label/order-changed', normaliseLabel(text), facts)]
    : [finding('label/invisible-characters', normaliseLabel(text), facts)];
}
