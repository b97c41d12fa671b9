import type { RowFlaw } from '../../../core/rounds/list/list-table.ts';
import { type CellText, cellText, collectText, unescapeText } from './cell-text.ts';
import { damaged, type Parts, readXml, tooLarge } from './open-parts.ts';
import { isTrue } from './read-workbook.ts';

export interface SheetRow {
  readonly row: number;
  readonly cells: string[];
  readonly flaws: RowFlaw[];
}

export interface MergedRange {
  /** Rows from 1, column from 0. */
  readonly firstRow: number;
  readonly lastRow: number;
  readonly column: number;
}

export interface Sheet {
  /** Rows that hold something, from top to bottom. */
  readonly rows: readonly SheetRow[];
  /** Ranges that cover several rows. */
  readonly merged: readonly MergedRange[];
}

export interface SheetContext {
  readonly strings: readonly string[];
  readonly formats: readonly string[];
  readonly from1904: boolean;
}

const mostRows = 50_000;
const mostColumns = 500;
const mostMerged = 20_000;

/**
 * The cells of a sheet (ECMA-376 part 1, 18.3.1.73 row, 18.3.1.4 c). Throws WorkbookRefusal where it is damaged or too
 * large.
 */
export async function readSheet(parts: Parts, part: string, context: SheetContext): Promise<Sheet> {
  const pieces = parts.open(part);
  if (pieces === undefined) throw damaged(`the part ${part} is missing`);
  const rows: SheetRow[] = [];
  const merged: MergedRange[] = [];
  const inline = collectText();
  let row = { number: 0, hidden: false, next: 0, cells: [] as string[], flaws: [] as RowFlaw[] };
  let cell: { column: number; type: string; style: number; value: string; formula: string | undefined } | undefined;
  let into: 'value' | 'formula' | undefined;

  const endCell = () => {
    if (cell === undefined) return;
    const { text, flaw } = read(cell, inline.value(), context);
    row.next = cell.column + 1;
    if (text !== '') {
      if (cell.column >= mostColumns) throw tooLarge(`cells beyond column ${mostColumns}`);
      while (row.cells.length < cell.column) row.cells.push('');
      row.cells[cell.column] = text;
      if (flaw !== undefined) row.flaws.push({ kind: flaw, column: cell.column });
    }
    cell = undefined;
  };
  const endRow = () => {
    if (row.cells.length === 0) return;
    if (rows.length >= mostRows) throw tooLarge(`more than ${mostRows.toLocaleString('en-US')} rows`);
    const before = rows.at(-1)?.row ?? 0;
    if (row.number <= before) throw damaged(`its row ${row.number} comes after row ${before}`);
    if (row.hidden) row.flaws.push({ kind: 'hidden' });
    rows.push({ row: row.number, cells: row.cells, flaws: row.flaws });
  };

  await readXml(part, pieces, {
    open: (local, attributes) => {
      if (local === 'row') {
        const number = attributes.r === undefined ? row.number + 1 : Number(attributes.r);
        if (!Number.isInteger(number) || number < 1) throw damaged(`a row with the number ${attributes.r}`);
        row = { number, hidden: isTrue(attributes.hidden), next: 0, cells: [], flaws: [] };
      } else if (local === 'c') {
        const column = attributes.r === undefined ? row.next : placeOf(attributes.r).column;
        cell = { column, type: attributes.t ?? 'n', style: Number(attributes.s ?? 0), value: '', formula: undefined };
        inline.clear();
      } else if (local === 'v') {
        into = 'value';
      } else if (local === 'f' && cell !== undefined) {
        into = 'formula';
        cell.formula = '';
      } else if (local === 'mergeCell' && attributes.ref !== undefined) {
        const [first, last] = attributes.ref.split(':').map(placeOf);
        if (first === undefined || last === undefined || last.row <= first.row) return;
        if (merged.length >= mostMerged) throw tooLarge(`more than ${mostMerged.toLocaleString('en-US')} merged cells`);
        merged.push({ firstRow: first.row, lastRow: last.row, column: first.column });
      }
      inline.open(local);
    },
    close: (local) => {
      inline.close(local);
      if (local === 'c') endCell();
      if (local === 'row') endRow();
      if (local === 'v' || local === 'f') into = undefined;
    },
    text: (text) => {
      inline.text(text);
      if (cell === undefined) return;
      if (into === 'value') cell.value += text;
      if (into === 'formula') cell.formula += text;
    },
  });
  return { rows, merged };
}

function read(
  cell: { readonly type: string; readonly style: number; readonly value: string; readonly formula: string | undefined },
  inline: string,
  { strings, formats, from1904 }: SheetContext,
): CellText {
  if (cell.type === 'inlineStr') return { text: inline };
  if (cell.type === 'str') return { text: unescapeText(cell.value) };
  if (cell.type === 's') {
    const text = strings[Number(cell.value)];
    if (text === undefined) throw damaged(`a cell refers to text ${cell.value}, which is not there`);
    return { text };
  }
  return cellText({ ...cell, format: formats[cell.style] ?? 'General' }, from1904);
}

/** `D17`: a column from 0 and a row from 1. */
function placeOf(reference: string): { readonly column: number; readonly row: number } {
  const [, letters, digits] = /^\$?([A-Z]{1,3})\$?(\d{1,7})$/.exec(reference.toUpperCase()) ?? [];
  if (letters === undefined || digits === undefined) throw damaged(`a cell with the place ${reference}`);
  const column = [...letters].reduce((sum, letter) => sum * 26 + letter.charCodeAt(0) - 64, 0) - 1;
  return { column, row: Number(digits) };
}
