import { invisible } from './visible.ts';

/**
 * Some scanners see it for a dash; dropped, a part of the label would be another. It stays, so that no family reads it
 * and the likely label is shown.
 */
const softHyphen = '\u00AD';

/**
 * A label's text as it is read and shown: NFKC, every Unicode dash a `-`, every run of white space one space, invisible
 * characters gone, trimmed. The case is kept.
 *
 * Dashes are those of the Unicode category Pd and the signs that keyboards and scanners put in their place. What was
 * left out as invisible is said by `checkInvisible`, which is given the text as it came.
 */
export function normaliseLabel(text: string): string {
  return text
    .normalize('NFKC')
    .replace(/[\p{Pd}\u2043\u2212\u02D7]/gu, '-')
    .replace(invisible, (character) => (character === softHyphen ? character : ''))
    .replace(/[\s\p{Z}\p{Cc}]+/gu, ' ')
    .trim();
}

/**
 * Upper case for comparing only. A letter whose capital belongs to another letter too (ſ → S, ı → I, ß → SS) stays as
 * it is, so that it can never pass for that letter.
 */
export function upperForComparing(text: string): string {
  return text.replace(/\p{Ll}/gu, (letter) => {
    const upper = letter.toUpperCase();
    return upper.toLowerCase() === letter ? upper : letter;
  });
}

/** Whether two normalised labels are one, whatever their case. */
export const isSameLabel = (a: string, b: string): boolean => upperForComparing(a) === upperForComparing(b);

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

/** `0, O and Q; 1, I, L and 7; …`: every pair that is folded, as people may read it. */
export const lookAlikesInWords: string = [
  ...groups.map((group) => [...group].filter((one) => /[0-9A-Z]/.test(one))).filter((group) => group.length > 1),
  ['rn', 'm'],
]
  .map((group) => `${group.slice(0, -1).join(', ')} and ${group.at(-1)}`)
  .join('; ');

export interface ForeignLetter {
  readonly letter: string;
  /** Counted from 1, as a person counts. */
  readonly at: number;
  readonly alphabet: 'Cyrillic' | 'Greek';
  /** The letter or digit that it looks like. */
  readonly like: string;
}

/** Letters of another alphabet that look like one of ours: a phone set to that alphabet types or scans them so. */
export function foreignLetters(text: string): readonly ForeignLetter[] {
  return [...text].flatMap((letter, index) => {
    const alphabet = /\p{Script=Cyrillic}/u.test(letter) ? 'Cyrillic' : /\p{Script=Greek}/u.test(letter) ? 'Greek' : '';
    const [like] = lookAlikesOf(letter).toSorted((a, b) => Number(/\d/.test(a)) - Number(/\d/.test(b)));
    return alphabet === '' || like === undefined ? [] : [{ letter, at: index + 1, alphabet, like }];
  });
}

/** `"К" at place 1 is a Cyrillic letter that looks like K`. */
export const foreignInWords = (letters: readonly ForeignLetter[]): string =>
  letters
    .map(
      ({ letter, at, alphabet, like }) => `"${letter}" at place ${at} is a ${alphabet} letter that looks like ${like}`,
    )
    .join('; ');

/** The characters a reader may have meant by this one, without itself, Latin and digits only; upper case. */
export function lookAlikesOf(character: string): readonly string[] {
  const upper = upperForComparing(character);
  return [...(groupOf.get(upper) ?? '')].filter((other) => other !== upper && /^[0-9A-Z]$/.test(other));
}

/**
 * One spelling for all texts that look alike: for finding misreadings, never for passing a comparison. `rn` counts as
 * `m` in any case, because labels are compared in upper case.
 */
export function foldLookAlikes(text: string): string {
  return [...upperForComparing(text).replaceAll('RN', 'M')]
    .map((character) => (groupOf.get(character) ?? character).charAt(0))
    .join('');
}

/** A line of a list of labels, with its number from 1. */
interface LabelLine {
  readonly line: number;
  readonly text: string;
}

/** The labels of a list, one a line; blank lines and lines that start with `#` are none. */
export function splitLabels(text: string): readonly LabelLine[] {
  return text
    .replace(/^\uFEFF/, '')
    .split(/\r\n|\n|\r/)
    .map((line, index) => ({ line: index + 1, text: line.trim() }))
    .filter(({ text: label }) => label !== '' && !label.startsWith('#'));
}
