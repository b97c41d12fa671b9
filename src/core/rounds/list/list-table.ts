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
