import type { UnusedRow } from '../../model/room.ts';
import { invisible } from '../../text/visible.ts';
import { countInWords } from '../../text/words.ts';

/** A row of a list as it stands there, before anything is understood. */
export interface TableRow {
  /** Line or spreadsheet row where it begins, from 1. */
  readonly row: number;
  readonly cells: readonly string[];
  /** What its form says of it, beyond the cells' text. */
  readonly flaws?: readonly RowFlaw[];
}

/** What a reader saw in a row that the cells' text does not show. */
export type RowFlaw =
  /** A quotation mark opens and never closes; the line was read as if it were an ordinary character. */
  | { readonly kind: 'open-quote' }
  /** A quoted cell of several lines that look like rows of the list. */
  | { readonly kind: 'holds-rows'; readonly column: number }
  /** The cell is a date in the workbook; its text is the ISO date. */
  | { readonly kind: 'date'; readonly column: number }
  /** A number with decimals: what was typed behind the point may have ended in a zero. */
  | { readonly kind: 'decimal'; readonly column: number }
  /** A whole number of more than 15 digits: the workbook has kept the first 15. */
  | { readonly kind: 'digits-lost'; readonly column: number }
  /** A formula with no stored result. */
  | { readonly kind: 'no-result'; readonly column: number }
  /** The value comes from the cell above, with which it is merged. */
  | { readonly kind: 'merged'; readonly column: number }
  | { readonly kind: 'hidden' };

export interface ListTable {
  readonly rows: readonly TableRow[];
  /** How a person finds a place in it: a line and a column number, or a cell such as D17. */
  readonly places: 'lines' | 'cells';
}

/** A, B, … Z, AA: the name of a spreadsheet's column, from 0. */
export function columnLetters(column: number): string {
  let letters = '';
  for (let left = column + 1; left > 0; left = Math.floor((left - 1) / 26)) {
    letters = String.fromCharCode(65 + ((left - 1) % 26)) + letters;
  }
  return letters;
}

/** `line 17`, `line 17, column 4 "Serial"`, `row 17`, `cell D17 "Serial"`. */
export function placeInWords(places: ListTable['places'], row: number, column?: number, heading?: string): string {
  const named = heading === undefined || heading.trim() === '' ? '' : ` "${heading.trim().replace(/\s+/g, ' ')}"`;
  if (column === undefined) return places === 'lines' ? `line ${row}` : `row ${row}`;
  if (places === 'cells') return `cell ${columnLetters(column)}${row}${named}`;
  return `line ${row}, column ${column + 1}${named}`;
}

interface CleanCell {
  readonly text: string;
  /** `U+0007`, … of the control characters that were taken out. */
  readonly controls: readonly string[];
  /** There were spaces of another kind, or characters that cannot be seen. */
  readonly oddSpaces: boolean;
}

/** Spaces that look like one. */
const oddSpace = /[\u00A0\u1680\u2000-\u200A\u202F\u205F\u3000]/g;
const control = /[\u0000-\u0008\u000B\u000C\u000E-\u001F\u007F-\u009F\uFFF9-\uFFFB]|\p{Cs}/gu;

/**
 * A cell as it is understood: without what cannot be seen, ordinary spaces, trimmed; line breaks stay only where asked.
 */
export function cleanCell(cell: string, keepLines = false): CleanCell {
  const controls = [...new Set(cell.match(control) ?? [])].map(codeOf);
  const text = cell.replace(control, '').replace(invisible, '').replace(oddSpace, ' ');
  const lines = text.split(/\r\n|\r|\n|\u2028|\u2029/).map((line) => line.replace(/\s+/g, ' ').trim());
  return {
    text: keepLines ? lines.join('\n').trim() : lines.join(' ').replace(/ +/g, ' ').trim(),
    controls,
    oddSpaces: cell.search(oddSpace) >= 0 || cell.search(invisible) >= 0,
  };
}

const codeOf = (character: string): string =>
  `U+${(character.codePointAt(0) ?? 0).toString(16).toUpperCase().padStart(4, '0')}`;

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
 * A heading for comparing: compatibility forms resolved (NFKD), without accents, lower case, every run of anything but
 * letters and digits one space. `Raum-Nr.`, `RAUM NR` and `raumNr` meet as `raum nr`; `N° de série` and `Nº de serie`
 * as `n de serie`.
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

/**
 * `12 rows: 9 rooms, 3 cannot be used`: what became of every row that holds something. ROOMS alone where nobody kept
 * the others.
 */
export function rowsInWords(rooms: number, unused: readonly Pick<UnusedRow, 'why'>[] | undefined): string {
  const all = countInWords(rooms, 'room');
  if (unused === undefined || unused.length === 0) return all;
  const count = (why: UnusedRow['why']): number => unused.filter((row) => row.why === why).length;
  const said = [
    [count('unusable'), 'cannot be used'],
    [count('repeated'), count('repeated') === 1 ? 'says the same as another' : 'say the same as others'],
    [count('no-room'), count('no-room') === 1 ? 'is no room' : 'are no rooms'],
  ] as const;
  const others = said.filter(([number]) => number > 0).map(([number, words]) => `${number} ${words}`);
  return `${countInWords(rooms + unused.length, 'row')}: ${[all, ...others].join(', ')}`;
}
