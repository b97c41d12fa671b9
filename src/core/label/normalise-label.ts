import { invisible } from './invisible-characters.ts';

/** Some scanners see it for a dash; dropped, a part of the label would be another. It stays, so that no family reads it and the likely label is shown. */
const softHyphen = '\u00AD';

/**
 * A label's text as it is read and shown: NFKC, every Unicode dash a `-`, every run of white space one space, invisible
 * characters gone, trimmed. The case is kept.
 *
 * Dashes are those of the Unicode category Pd and the signs that keyboards and scanners put in their place. What was left out as invisible
 * is said by `checkInvisible`, which is given the text as it came.
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
 * Upper case for comparing only. A letter whose capital belongs to another letter too (ſ → S, ı → I, ß → SS) stays as it
 * is, so that it can never pass for that letter.
 */
export function upperForComparing(text: string): string {
  return text.replace(/\p{Ll}/gu, (letter) => {
    const upper = letter.toUpperCase();
    return upper.toLowerCase() === letter ? upper : letter;
  });
}
