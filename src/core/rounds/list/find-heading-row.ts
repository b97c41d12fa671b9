import type { RoomField } from '../../model/room.ts';
import { roomFields } from '../../model/room.ts';
import type { TableRow } from './list-table.ts';
import { type Columns, findNamedColumns, matchColumns } from './match-columns.ts';

/** Titles and dates stand above the headings, rarely more than a few lines. */
const rowsToLookAt = 30;

export interface HeadingRow {
  /** Into the rows, from 0; undefined where the list has no headings at all. */
  readonly index: number | undefined;
  readonly headings: readonly string[];
  /** Columns by `--columns`, memory and the usual words, in this order. */
  readonly columns: Columns;
}

export type NamedFields = Readonly<Partial<Record<RoomField, string>>>;
/** What an earlier reading of the same headings was told. */
export type Recall = (headings: readonly string[]) => Columns | undefined;

/**
 * The row that the headings stand in: the one among the first rows that holds most of what was named, else what is
 * remembered, else most of the usual headings. Where nothing is recognised, the first row with as many texts as a list has.
 */
export function findHeadingRow(rows: readonly TableRow[], named: NamedFields, recall: Recall): HeadingRow | undefined {
  let best: { index: number; score: number } | undefined;
  for (const [index, { cells }] of rows.slice(0, rowsToLookAt).entries()) {
    const score = scoreOf(cells, named, recall);
    if (score > 0 && (best === undefined || score > best.score)) best = { index, score };
  }
  const index = best?.index ?? firstFullRow(rows);
  if (index === undefined) return undefined;
  const headings = rows[index]?.cells ?? [];
  return { index, headings, columns: columnsOf(headings, named, recall) };
}

export function columnsOf(headings: readonly string[], named: NamedFields, recall: Recall): Columns {
  const byName = findNamedColumns(headings, named).columns;
  const taken = new Set(Object.values(byName));
  const columns: Partial<Record<RoomField, number>> = { ...byName };
  for (const source of [recall(headings) ?? {}, matchColumns(headings).columns]) {
    for (const field of roomFields) {
      const column = source[field];
      if (column === undefined || columns[field] !== undefined || taken.has(column)) continue;
      columns[field] = column;
      taken.add(column);
    }
  }
  return columns;
}

/** One lone usual word is as likely a title ("Rooms"), so it takes two, or one that was named. */
function scoreOf(cells: readonly string[], named: NamedFields, recall: Recall): number {
  const byName = Object.keys(findNamedColumns(cells, withoutOrdinals(named)).columns).length;
  const usual = Object.keys(matchColumns(cells).columns).length;
  const known = recall(cells) === undefined ? 0 : 50;
  return byName * 100 + known + (usual >= 2 ? usual : 0);
}

const withoutOrdinals = (named: NamedFields): NamedFields =>
  Object.fromEntries(Object.entries(named).filter(([, heading]) => !heading.startsWith('#')));

function firstFullRow(rows: readonly TableRow[]): number | undefined {
  const filled = rows.slice(0, rowsToLookAt).map(({ cells }) => cells.filter((cell) => cell.trim() !== '').length);
  const most = Math.max(0, ...filled);
  return most < 2 ? undefined : filled.findIndex((count) => count >= Math.max(2, most - 1));
}
