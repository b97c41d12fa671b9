import { type Finding, finding } from '../../findings/finding.ts';
import { isWayField, type Room, type RoomField, roomFields } from '../../model/room.ts';
import { isEmptyWord, isTotalWord } from './cell-words.ts';
import {
  cellPlace,
  judgeCells,
  type RowContext,
  type RowValues,
  shortened,
  subject,
  unwrapTextFormula,
} from './judge-cells.ts';
import { cleanCell, type TableRow } from './list-table.ts';

/** A row as a panel, before rows are compared with each other. */
export type PanelRow = Omit<Room, 'key'>;

interface RowReading {
  /** Undefined where the row is no panel, or is left out. */
  readonly panel: PanelRow | undefined;
  /** The room that the row names, also where it is left out. */
  readonly room: string;
  readonly findings: readonly Finding[];
  /** Columns whose cells held look-alike spaces or invisible characters. */
  readonly oddSpaces: readonly number[];
}

/** Reads one row that is not empty: its fields, and everything that is wrong with it. */
export function readRow(row: TableRow, context: RowContext): RowReading {
  const findings: Finding[] = [];
  const oddSpaces: number[] = [];
  const values: Partial<Record<RoomField, string>> = {};
  for (const field of roomFields) {
    const column = context.columns[field];
    if (column === undefined) continue;
    const cell = unwrapTextFormula(row.cells[column] ?? '');
    const clean = cleanCell(cell, field === 'notes');
    if (clean.oddSpaces) oddSpaces.push(column);
    const where = cellPlace(row, context, column);
    if (clean.controls.length > 0) {
      findings.push(finding('room/control-characters', subject(row, context), { place: where, codes: clean.controls }));
    }
    // "Unknown" is an answer to what a panel can still do, and nothing to any other question.
    const isEmpty = isWayField(field) ? clean.text === '' : isEmptyWord(clean.text);
    if (!isEmpty) values[field] = clean.text;
  }
  const shape = checkRowShape(row, values, context);
  const base = { room: values.room ?? '', oddSpaces };
  if (shape.ends) return { ...base, panel: undefined, findings: [...findings, ...shape.findings] };
  const judged = judgeCells(row, values, context);
  findings.push(...shape.findings, ...judged.findings);
  const { room, label, running, serial, asset, notes } = judged.values;
  if (judged.out || room === undefined || label === undefined) return { ...base, panel: undefined, findings };
  const { mode, approval, answers } = judged;
  return {
    ...base,
    panel: { row: row.row, room, label, running, serial, asset, notes, mode, approval, answers },
    findings,
  };
}

/** Whether the row as a whole can be read at all. */
function checkRowShape(
  row: TableRow,
  values: RowValues,
  context: RowContext,
): { readonly ends: boolean; readonly findings: readonly Finding[] } {
  const here = { place: cellPlace(row, context) };
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
    const facts = { place: cellPlace(row, context, swallowed.column), lines };
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
