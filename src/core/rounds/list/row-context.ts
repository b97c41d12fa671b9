import type { RoomField } from '../../model/room.ts';
import { cleanCell } from './clean-cell.ts';
import { type ListTable, placeInWords, type TableRow } from './list-table.ts';
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

/** The texts of a row, cleaned, by field; what says "nothing here" is not among them. */
export type RowValues = Readonly<Partial<Record<RoomField, string>>>;

/** What a finding is about: file and line. */
export const subject = (row: TableRow, { source }: RowContext): string => `${source}:${row.row}`;

/** Where, in words. */
export const place = (row: TableRow, { places, headings }: RowContext, column?: number): string =>
  placeInWords(places, row.row, column, column === undefined ? undefined : headings[column]);

/** A cell in one line, for a message. */
export const shortened = (text: string): string => {
  const line = cleanCell(text).text;
  return line.length > 80 ? `${line.slice(0, 77)}...` : line;
};
