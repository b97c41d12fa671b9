/** Letters that no decomposition takes apart, as people write them without the key for it. */
const plainLetters: Readonly<Record<string, string>> = {
  ß: 'ss',
  ø: 'o',
  ł: 'l',
  æ: 'ae',
  œ: 'oe',
  đ: 'd',
  ð: 'd',
  þ: 'th',
};

/**
 * A heading for comparing: compatibility forms resolved (NFKD), without accents, lower case, every run of anything but letters
 * and digits one space. `Raum-Nr.`, `RAUM NR` and `raumNr` meet as `raum nr`; `N° de série` and `Nº de serie` as `n de serie`.
 */
export function normaliseHeading(text: string): string {
  return text
    .replace(/(\p{Ll})(\p{Lu})/gu, '$1 $2')
    .replace(/[°º#]/g, ' ')
    .normalize('NFKD')
    .replace(/\p{M}/gu, '')
    .toLowerCase()
    .replace(/[ßøłæœđðþ]/g, (letter) => plainLetters[letter] ?? letter)
    .replace(/[^\p{L}\p{N}]+/gu, ' ')
    .trim();
}

/** The same without what stands in brackets: `Label (see rear)` as `label`. */
export const withoutBrackets = (heading: string): string => heading.replace(/[([{][^)\]}]*[)\]}]/g, ' ');
