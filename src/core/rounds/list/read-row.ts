import { type Finding, finding } from '../../findings/finding.ts';
import { type Room, type RoomField, roomFields } from '../../model/room.ts';
import { isEmptyWord } from './cell-words.ts';
import { checkRowShape } from './check-row-shape.ts';
import { cleanCell } from './clean-cell.ts';
import { unwrapTextFormula } from './find-mangling.ts';
import { judgeCells } from './judge-cells.ts';
import type { TableRow } from './list-table.ts';
import { place, type RowContext, subject } from './row-context.ts';

/** A row as a panel, before rows are compared with each other. */
export type PanelRow = Omit<Room, 'key'>;

export interface RowReading {
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
    const where = place(row, context, column);
    if (clean.controls.length > 0) {
      findings.push(finding('room/control-characters', subject(row, context), { place: where, codes: clean.controls }));
    }
    if (!isEmptyWord(clean.text)) values[field] = clean.text;
  }
  const shape = checkRowShape(row, values, context);
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
