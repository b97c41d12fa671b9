/**
 * A label's text as it is read and shown: NFKC, every Unicode dash a `-`, every run of white space one space, invisible
 * characters gone, trimmed. The case is kept.
 *
 * Dashes are those of the Unicode category Pd and the signs that keyboards and scanners put in their place. Invisible
 * are the zero-width characters and the direction marks that come along when text is pasted.
 */
export function normaliseLabel(text: string): string {
  return text
    .normalize('NFKC')
    .replace(/[\p{Pd}\u2043\u2212\u02D7]/gu, '-')
    .replace(/[\u200B-\u200F\u202A-\u202E\u2060-\u2064\u2066-\u2069\uFEFF\u061C]/gu, '')
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
