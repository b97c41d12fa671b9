import { type Finding, finding } from '../../findings/finding.ts';
import { compareFit } from '../../label/compare-fit.ts';
import { misreadsOf } from '../../label/find-misreads.ts';
import { isRead, readWithGrammar } from '../../label/read-with-grammar.ts';
import { tidied } from '../../label/tidy-label.ts';
import type { Grammar } from '../../model/family.ts';
import type { Manifest } from '../../model/manifest.ts';
import { isSameLabel, normaliseLabel } from '../../text/label-text.ts';
import { checkAlphabet, checkInvisible } from '../fit/check-label.ts';

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
    return [
      ...checkAlphabet({ normalised: normaliseLabel(asked) }),
      finding('verify/other-label', asked, { prepared, asked, parts: [] }),
    ];
  }
  const { parts } = readWithGrammar(normaliseLabel(asked), family.label);
  if (parts === undefined) return notRead(asked, prepared, family.label);
  const fit = compareFit(parts, archive.parts, archive.agree);
  if (fit.answer === 'fits') return [finding('verify/label-also-served', asked, { prepared, asked })];
  const differing = fit.parts
    .filter(({ relation }) => relation !== 'equal')
    .map(({ part, label: here, other }) => `${part} (stick ${other ?? 'not given'}, asked ${here ?? 'not given'})`);
  const alike = fit.parts.every(({ relation }) => relation === 'equal' || relation === 'misread');
  if (alike) return [finding('verify/label-misread', asked, { prepared, asked, likes: [] })];
  return [finding('verify/other-label', asked, { prepared, asked, parts: differing })];
}

/** Not a label of the family: written otherwise, misread, or another one, as `label` would say it. */
function notRead(asked: string, prepared: string, grammar: Grammar): readonly Finding[] {
  const exact = tidied(asked, [{ grammar, examples: [prepared] }]);
  if (exact !== undefined) return [finding('verify/label-written-otherwise', asked, { prepared, asked, exact })];
  const foreign = checkAlphabet({ normalised: normaliseLabel(asked) });
  const likes = misreadsOf(asked, (spelling) => isRead(spelling, grammar)).slice(0, 6);
  if (likes.length > 0) return [...foreign, finding('verify/label-misread', asked, { prepared, asked, likes })];
  return [...foreign, finding('verify/label-not-comparable', asked, { prepared, asked })];
}
