import { type Finding, finding } from '../../findings/finding.ts';
import type { Mode } from '../../model/mode.ts';
import { type RoomField, roomFields } from '../../model/room.ts';
import { readApproval, readMode } from './cell-words.ts';
import { findMangling, isFormula } from './find-mangling.ts';
import type { RowFlaw, TableRow } from './list-table.ts';
import { place, type RowContext, type RowValues, shortened, subject } from './row-context.ts';

export interface Judged {
  /** Without the cells that cannot be used. */
  readonly values: RowValues;
  readonly mode: Mode | undefined;
  readonly approval: string | undefined;
  /** The row must be left out. */
  readonly out: boolean;
  readonly findings: readonly Finding[];
}

/** Fields without which, or with a wrong one, somebody does the wrong thing at a panel. */
const decisive: readonly RoomField[] = ['room', 'label', 'mode'];

/** What the cells of a row are worth: which can be used, which cannot, and whether the row can. */
export function judgeCells(row: TableRow, read: RowValues, context: RowContext): Judged {
  const cells = roomFields.flatMap((field) => {
    const text = read[field];
    return text === undefined ? [] : [judgeCell(row, field, text, context)];
  });
  const values: RowValues = Object.fromEntries(
    cells.flatMap(({ field, text }) => (text === undefined ? [] : [[field, text] as const])),
  );
  const mangled = cells.some(({ field, text }) => text === undefined && decisive.includes(field));
  const mode = mangled ? { mode: undefined, findings: [] } : modeOf(row, values, context);
  const approval = approvalOf(row, values, context);
  return {
    values,
    mode: mode.mode,
    approval: approval.text,
    out: mangled || mode.findings.length > 0,
    findings: [
      ...cells.flatMap(({ findings }) => findings),
      ...(mangled ? [] : missing(row, values, context)),
      ...mode.findings,
      ...approval.findings,
    ],
  };
}

interface JudgedCell {
  readonly field: RoomField;
  /** Undefined where it cannot be used. */
  readonly text: string | undefined;
  readonly findings: readonly Finding[];
}

function judgeCell(row: TableRow, field: RoomField, text: string, context: RowContext): JudgedCell {
  const column = context.columns[field];
  const about = subject(row, context);
  const at = { place: place(row, context, column) };
  const flaw = row.flaws?.find((one) => 'column' in one && one.column === column && one.kind !== 'merged');
  const mangling = manglingOf(text, field, flaw);
  if (mangling !== undefined) {
    const code = decisive.includes(field)
      ? 'room/cell-mangled'
      : field === 'running'
        ? 'room/running-mangled'
        : 'room/cell-not-used';
    const facts = { ...at, field, text: shortened(text), mangling };
    return { field, text: undefined, findings: [finding(code, about, facts)] };
  }
  const findings: Finding[] = [];
  if (field === 'notes' && isFormula(text)) {
    findings.push(finding('room/formula-text', about, { ...at, text: shortened(text) }));
  }
  if (context.places === 'lines' && /^"[^"]*"./.test(text)) {
    findings.push(finding('room/stray-quote', about, { ...at, text: shortened(text) }));
  }
  if (flaw?.kind === 'decimal' && field === 'room') {
    findings.push(finding('room/room-is-number', about, { ...at, text }));
  }
  if (flaw?.kind !== 'date' || field !== 'running') return { field, text, findings };
  const build = text.replaceAll('-', '');
  return { field, text: build, findings: [...findings, finding('room/date-as-build', about, { ...at, text, build })] };
}

function modeOf(row: TableRow, { mode: text, room = '' }: RowValues, context: RowContext) {
  const mode = text === undefined ? undefined : readMode(text);
  if (text === undefined || mode !== undefined) return { mode, findings: [] };
  const facts = { place: place(row, context, context.columns.mode), text: shortened(text), room };
  return { mode, findings: [finding('room/mode-unknown', subject(row, context), facts)] };
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

function missing(row: TableRow, values: RowValues, context: RowContext): readonly Finding[] {
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

function approvalOf(row: TableRow, values: RowValues, context: RowContext) {
  const text = values.approval;
  const said = text === undefined ? undefined : readApproval(text);
  if (text === undefined || said === 'no') return { text: undefined, findings: [] };
  if (said === 'name') return { text, findings: [] };
  const at = { place: place(row, context, context.columns.approval) };
  const facts = { ...at, text: shortened(text), room: values.room ?? '' };
  return { text: undefined, findings: [finding('room/approval-without-name', subject(row, context), facts)] };
}
