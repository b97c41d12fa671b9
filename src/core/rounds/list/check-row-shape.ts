import { type Finding, finding } from '../../findings/finding.ts';
import { isTotalWord } from './cell-words.ts';
import type { TableRow } from './list-table.ts';
import { place, type RowContext, type RowValues, shortened, subject } from './row-context.ts';

/** Whether the row as a whole can be read at all. */
export function checkRowShape(
  row: TableRow,
  values: RowValues,
  context: RowContext,
): { readonly ends: boolean; readonly findings: readonly Finding[] } {
  const here = { place: place(row, context) };
  const about = subject(row, context);
  if (row.flaws?.some(({ kind }) => kind === 'open-quote')) {
    const text = shortened(row.cells.join(' … '));
    return { ends: true, findings: [finding('room/quote-not-closed', about, { ...here, text })] };
  }
  // In a spreadsheet a cell beyond the headings is a remark; in a text a delimiter has moved the cells.
  if (context.places === 'lines' && row.cells.length > Math.max(context.headings.length, context.usualCells)) {
    const extra = row.cells.findLast((cell) => cell.trim() !== '') ?? '';
    const facts = { ...here, cells: row.cells.length, headings: context.headings.length, extra: shortened(extra) };
    return { ends: true, findings: [finding('room/too-many-cells', about, facts)] };
  }
  const swallowed = row.flaws?.find((flaw) => flaw.kind === 'holds-rows');
  if (swallowed !== undefined) {
    const lines = (row.cells[swallowed.column] ?? '').split(/\r\n|\r|\n/).length;
    const facts = { place: place(row, context, swallowed.column), lines };
    return { ends: false, findings: [finding('room/cell-holds-rows', about, facts)] };
  }
  const first = row.cells.find((cell) => cell.trim() !== '') ?? '';
  if (isTotalWord(first) && /^[\d.,\s]*$/.test(values.label ?? '')) {
    return { ends: true, findings: [finding('room/total-row', about, { ...here, text: shortened(first) })] };
  }
  if (
    context.places === 'lines' &&
    row.cells.length < Math.min(context.headings.length, context.usualCells) &&
    values.label !== undefined
  ) {
    const facts = { ...here, cells: row.cells.length, headings: context.headings.length };
    return { ends: false, findings: [finding('room/too-few-cells', about, facts)] };
  }
  return { ends: false, findings: [] };
}
