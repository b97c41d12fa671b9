import { upperForComparing } from './normalise-label.ts';

/**
 * Characters that people and scanners take for one another on a plate. Common practice, no source. Letters of other
 * scripts with the same shape are here because a phone set to that script reads them so.
 */
const groups: readonly string[] = [
  '0OQОΟ',
  '1IL7ІΙ|',
  '5SЅ',
  '8BВΒ',
  '2ZΖ',
  '6G',
  'UV',
  'AАΑ',
  'CСϹ',
  'EЕΕ',
  'HНΗ',
  'KКΚ',
  'MМΜ',
  'PРΡ',
  'TТΤ',
  'XХΧ',
  'YУΥ',
  'NΝ',
];

const groupOf = new Map(groups.flatMap((group) => [...group].map((character) => [character, group] as const)));

/** The characters a reader may have meant by this one, without itself, Latin and digits only; upper case. */
export function lookAlikesOf(character: string): readonly string[] {
  const upper = upperForComparing(character);
  return [...(groupOf.get(upper) ?? '')].filter((other) => other !== upper && /^[0-9A-Z]$/.test(other));
}

/**
 * One spelling for all texts that look alike: for finding misreadings, never for passing a comparison. `rn` counts as `m`
 * in any case, because labels are compared in upper case.
 */
export function foldLookAlikes(text: string): string {
  return [...upperForComparing(text).replaceAll('RN', 'M')]
    .map((character) => (groupOf.get(character) ?? character).charAt(0))
    .join('');
}
