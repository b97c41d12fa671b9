import { type Finding, finding } from '../../findings/finding.ts';
import { compareFit } from '../../label/compare-fit.ts';
import { readWithGrammar } from '../../label/read-with-grammar.ts';
import type { Manifest } from '../../model/manifest.ts';
import { isSameLabel, normaliseLabel } from '../../text/label-text.ts';
import { checkInvisible } from '../fit/check-label.ts';

/**
 * Compares the label at the panel with the one the stick was prepared for, with what the manifest carries alone: the
 * family's grammar and the parts that its package must agree on.
 */
export const checkLabel = (asked: string, manifest: Manifest): readonly Finding[] => [
  ...checkInvisible(asked),
  ...compareLabel(asked, manifest),
];

function compareLabel(asked: string, manifest: Manifest): readonly Finding[] {
  const { label, family, archive } = manifest;
  const prepared = label.text;
  if (isSameLabel(normaliseLabel(asked), label.normalised))
    return [finding('verify/same-label', asked, { text: prepared })];
  if (family === null || archive.parts === null) {
    return [finding('verify/other-label', asked, { prepared, asked, parts: [] })];
  }
  const { parts } = readWithGrammar(normaliseLabel(asked), family.label);
  if (parts === undefined) return [finding('verify/label-not-comparable', asked, { prepared, asked })];
  const fit = compareFit(parts, archive.parts, archive.agree);
  if (fit.answer === 'fits') return [finding('verify/label-also-served', asked, { prepared, asked })];
  const differing = fit.parts
    .filter(({ relation }) => relation !== 'equal')
    .map(({ part, label: here, other }) => `${part} (stick ${other ?? 'not given'}, asked ${here ?? 'not given'})`);
  return [finding('verify/other-label', asked, { prepared, asked, parts: differing })];
}
