import { type Finding, finding } from '../../findings/finding.ts';
import type { Mode } from '../../model/mode.ts';
import { type RoomField, roomFields } from '../../model/room.ts';
import { isEmptyWord, isTotalWord, readApproval, readMode } from './cell-words.ts';
import { cleanCell } from './clean-cell.ts';
import { findMangling, isFormula, unwrapTextFormula } from './find-mangling.ts';
import { type ListTable, placeInWords, type RowFlaw, type TableRow } from './list-table.ts';
import type { Columns } from './match-columns.ts';

/** What is needed to understand a row: where the fields stand, and how to speak of a place. */
export interface RowContext {
  readonly source: string;
  readonly places: ListTable['places'];
  readonly headings: readonly string[];
  readonly columns: Columns;
  /** Cells that a row has: as many as there are headings, unless most rows agree on another number. */
  readonly usualCells: number;
}

/** A row as a panel, before rows are compared with each other. */
export interface PanelRow {
  readonly row: number;
  readonly room: string;
  readonly label: string;
  readonly running: string | undefined;
  readonly serial: string | undefined;
  readonly asset: string | undefined;
  readonly notes: string | undefined;
  readonly mode: Mode | undefined;
  readonly approval: string | undefined;
}

export interface RowReading {
  /** Undefined where the row is no panel, or is left out. */
  readonly panel: PanelRow | undefined;
  /** The room that the row names, also where it is left out. */
  readonly room: string;
  readonly findings: readonly Finding[];
  /** Columns whose cells held look-alike spaces or invisible characters. */
  readonly oddSpaces: readonly number[];
}

type Values = Partial<Record<RoomField, string>>;

/** Reads one row that is not empty: its fields, and everything that is wrong with it. */
export function readRow(row: TableRow, context: RowContext): RowReading {
  const findings: Finding[] = [];
  const oddSpaces: number[] = [];
  const values: Values = {};
  for (const field of roomFields) {
    const column = context.columns[field];
    if (column === undefined) continue;
    const cell = unwrapTextFormula(row.cells[column] ?? '');
    const clean = cleanCell(cell, field === 'notes');
    if (clean.oddSpaces) oddSpaces.push(column);
    const where = place(row, context, column);
    if (clean.controls.length > 0) {
      findings.push(finding('room/control-characters', subject(row, context), { place: where, codes: clean.controls }));
    }
    if (!isEmptyWord(clean.text)) values[field] = clean.text;
  }
  const shape = checkShape(row, values, context);
  const base = { room: values.room ?? '', oddSpaces };
  if (shape.ends) return { ...base, panel: undefined, findings: [...findings, ...shape.findings] };
  const judged = judgeCells(row, values, context);
  findings.push(...shape.findings, ...judged.findings);
  const { room, label, running, serial, asset, notes } = judged.values;
  if (judged.out || room === undefined || label === undefined) return { ...base, panel: undefined, findings };
  return {
    ...base,
    panel: { row: row.row, room, label, running, serial, asset, notes, mode: judged.mode, approval: judged.approval },
    findings,
  };
}

const subject = (row: TableRow, { source }: RowContext): string => `${source}:${row.row}`;

const place = (row: TableRow, { places, headings }: RowContext, column?: number): string =>
  placeInWords(places, row.row, column, column === undefined ? undefined : headings[column]);

/** Whether the row as a whole can be read at all. */
function checkShape(
  row: TableRow,
  values: Values,
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

interface Judged {
  readonly values: Values;
  readonly mode: Mode | undefined;
  readonly approval: string | undefined;
  readonly out: boolean;
  readonly findings: readonly Finding[];
}

function judgeCells(row: TableRow, read: Values, context: RowContext): Judged {
  const findings: Finding[] = [];
  const values: Values = { ...read };
  const about = subject(row, context);
  let out = false;
  for (const field of roomFields) {
    const column = context.columns[field];
    const text = read[field];
    if (column === undefined || text === undefined) continue;
    const at = { place: place(row, context, column) };
    const flaw = row.flaws?.find((one) => 'column' in one && one.column === column && one.kind !== 'merged');
    const mangling = manglingOf(text, field, flaw);
    if (mangling !== undefined) {
      const facts = { ...at, field, text: shortened(text), mangling };
      delete values[field];
      if (field === 'running') findings.push(finding('room/running-mangled', about, facts));
      else if (field === 'room' || field === 'label' || field === 'mode') {
        findings.push(finding('room/cell-mangled', about, facts));
        out = true;
      } else findings.push(finding('room/cell-not-used', about, facts));
    } else if (flaw?.kind === 'date' && field === 'running') {
      const build = text.replaceAll('-', '');
      values.running = build;
      findings.push(finding('room/date-as-build', about, { ...at, text, build }));
    } else if (flaw?.kind === 'decimal' && field === 'room') {
      findings.push(finding('room/room-is-number', about, { ...at, text }));
    }
    if (mangling === undefined && (field === 'notes' || field === 'approval') && isFormula(text)) {
      findings.push(finding('room/formula-text', about, { ...at, text: shortened(text) }));
    }
    if (context.places === 'lines' && /^"[^"]*"./.test(text)) {
      findings.push(finding('room/stray-quote', about, { ...at, text: shortened(text) }));
    }
  }
  if (!out) findings.push(...missing(row, values, context));
  const mode = values.mode === undefined ? undefined : readMode(values.mode);
  if (!out && values.mode !== undefined && mode === undefined) {
    const at = { place: place(row, context, context.columns.mode) };
    findings.push(
      finding('room/mode-unknown', about, { ...at, text: shortened(values.mode), room: values.room ?? '' }),
    );
    out = true;
  }
  const approval = approvalOf(row, values, context);
  return { values, mode, approval: approval.text, out, findings: [...findings, ...approval.findings] };
}

function manglingOf(text: string, field: RoomField, flaw: RowFlaw | undefined) {
  if (flaw?.kind === 'no-result') return flaw.kind;
  if (field === 'notes' || field === 'approval') return findMangling(text, field);
  if (flaw?.kind === 'digits-lost') return flaw.kind;
  if (flaw?.kind === 'decimal' && field !== 'room') return flaw.kind;
  if (flaw?.kind === 'date') return field === 'running' && isPlainDate(text) ? undefined : flaw.kind;
  return findMangling(text, field);
}

const isPlainDate = (text: string): boolean => /^\d{4}-\d{2}-\d{2}$/.test(text);

function missing(row: TableRow, values: Values, context: RowContext): readonly Finding[] {
  const about = subject(row, context);
  const { room, label } = values;
  if (room === undefined) {
    const at = { place: place(row, context, context.columns.room) };
    return [finding('room/room-missing', about, { ...at, label: shortened(label ?? '') })];
  }
  if (label !== undefined) return [];
  const at = { place: place(row, context, context.columns.label) };
  return [finding('room/label-missing', about, { ...at, room: shortened(room) })];
}

function approvalOf(row: TableRow, values: Values, context: RowContext) {
  const text = values.approval;
  const said = text === undefined ? undefined : readApproval(text);
  if (text === undefined || said === 'no') return { text: undefined, findings: [] };
  if (said === 'name') return { text, findings: [] };
  const at = { place: place(row, context, context.columns.approval) };
  const facts = { ...at, text: shortened(text), room: values.room ?? '' };
  return { text: undefined, findings: [finding('room/approval-without-name', subject(row, context), facts)] };
}

const shortened = (text: string): string => {
  const line = cleanCell(text).text;
  return line.length > 80 ? `${line.slice(0, 77)}...` : line;
};
