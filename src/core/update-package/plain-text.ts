/** As much of a value from a package as a person reads in a message. */
const longest = 160;

/** A value out of a package made fit for a message: cut to length, and without characters that act on a terminal. */
export function plainText(text: string): string {
  const printable = text.slice(0, longest).replace(/[\p{Cc}\p{Cf}\u2028\u2029]/gu, '\uFFFD');
  return text.length > longest ? `${printable}… (${text.length} characters)` : printable;
}

/** Several values: the first ten, and how many more there are. */
export function plainList(texts: readonly string[]): readonly string[] {
  const shown = texts.slice(0, 10).map(plainText);
  return texts.length > shown.length ? [...shown, `and ${texts.length - shown.length} more`] : shown;
}
