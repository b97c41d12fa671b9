import { type Finding, finding } from '../../findings/finding.ts';
import { compareTokens } from '../../label/compare-tokens.ts';
import { normaliseLabel } from '../../label/normalise-label.ts';

/** Compares a label with a file name where no family says what the parts mean. */
export function checkTokens(labelText: string, fileName: string, wipes: boolean): readonly Finding[] {
  const label = normaliseLabel(labelText);
  const fit = compareTokens(label, fileName);
  const withRelation = (relation: string) => fit.parts.filter((token) => token.relation === relation);
  if (fit.answer === 'fits') return [];
  const differing = withRelation('differs').map(({ part, other }) => ({ onLabel: part, inName: other ?? '' }));
  if (differing.length > 0) return [finding('fit/tokens-differ', fileName, { label, differing })];
  const misread = withRelation('misread').map(({ part }) => part);
  if (misread.length > 0) return [finding('fit/tokens-misread', fileName, { label, tokens: misread })];
  const tokens = withRelation('missing').map(({ part }) => part);
  return [finding(wipes ? 'fit/tokens-missing-before-wipe' : 'fit/tokens-missing', fileName, { label, tokens })];
}
