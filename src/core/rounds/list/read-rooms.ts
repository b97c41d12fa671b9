import { type Finding, finding } from '../../findings/finding.ts';
import { groupBy } from '../../model/group-by.ts';
import type { Room } from '../../model/room.ts';
import { comparePanels } from './compare-panels.ts';
import { placeInWords, type TableRow } from './list-table.ts';
import { nameRooms } from './name-rooms.ts';
import { normaliseHeading } from './normalise-heading.ts';
import { type PanelRow, readRow } from './read-row.ts';
import type { RowContext } from './row-context.ts';

/** The rooms of the rows below the headings; what is wrong with the others is in the findings, in the order of the rows. */
export function readRooms(
  rows: readonly TableRow[],
  given: Omit<RowContext, 'usualCells'>,
): { readonly rooms: readonly Room[]; readonly findings: readonly Finding[] } {
  const findings: Finding[] = [];
  const panels: PanelRow[] = [];
  const namedRooms: string[] = [];
  const odd: { row: number; column: number }[] = [];
  const filled = rows.filter(isFilled);
  const context = { ...given, usualCells: usualCellsOf(filled, given.headings.length) };
  for (const row of filled) {
    if (isHeadingsAgain(row, context.headings)) {
      const where = { place: placeInWords(context.places, row.row) };
      findings.push(finding('room/headings-again', `${context.source}:${row.row}`, where));
      continue;
    }
    const reading = readRow(row, context);
    findings.push(...reading.findings);
    odd.push(...reading.oddSpaces.map((column) => ({ row: row.row, column })));
    if (reading.panel !== undefined) panels.push(reading.panel);
    else if (reading.room !== '') namedRooms.push(reading.room);
  }
  const compared = comparePanels(panels, context.source, (row) => placeInWords(context.places, row));
  namedRooms.push(...panels.filter((one) => !compared.repeated.has(one)).map(({ room }) => room));
  return {
    rooms: nameRooms(compared.panels, namedRooms),
    findings: [...findings, ...compared.findings, ...rowsInSum(rows, context), ...oddSpacesIn(odd, context)],
  };
}

const isFilled = ({ cells }: TableRow): boolean => cells.some((cell) => cell.trim() !== '');

/** Every row may end with one more delimiter than the headings, or with a column that has none; then that is no fault. */
function usualCellsOf(rows: readonly TableRow[], headings: number): number {
  const byCount = groupBy(rows, ({ cells }) => cells.length);
  const [most] = [...byCount].toSorted(([, a], [, b]) => b.length - a.length);
  return most !== undefined && most[1].length >= 3 && most[1].length * 2 > rows.length ? most[0] : headings;
}

function isHeadingsAgain({ cells }: TableRow, headings: readonly string[]): boolean {
  const named = headings.flatMap((heading, column) => (heading.trim() === '' ? [] : [column]));
  return (
    named.length > 1 &&
    named.every((column) => normaliseHeading(cells[column] ?? '') === normaliseHeading(headings[column] ?? ''))
  );
}

/** What is said once of many rows: empty, hidden and merged ones. */
function rowsInSum(rows: readonly TableRow[], { source, places, headings }: RowContext): readonly Finding[] {
  const last = rows.findLastIndex(isFilled);
  const empty = rows.slice(0, last + 1).filter((row) => !isFilled(row));
  const hidden = rows.filter((row) => isFilled(row) && row.flaws?.some(({ kind }) => kind === 'hidden'));
  const merged = rows.flatMap(({ row, flaws = [] }) =>
    flaws.flatMap((flaw) =>
      flaw.kind === 'merged' ? [placeInWords(places, row, flaw.column, headings[flaw.column])] : [],
    ),
  );
  const inWords = (some: readonly TableRow[]) => some.map(({ row }) => placeInWords(places, row));
  return [
    ...(empty.length === 0 ? [] : [finding('room/empty-rows', source, { rows: inWords(empty) })]),
    ...(hidden.length === 0 ? [] : [finding('room/hidden-rows', source, { rows: inWords(hidden) })]),
    ...(merged.length === 0 ? [] : [finding('room/merged-rows', source, { cells: merged })]),
  ];
}

function oddSpacesIn(
  odd: readonly { readonly row: number; readonly column: number }[],
  { source, places, headings }: RowContext,
): readonly Finding[] {
  if (odd.length === 0) return [];
  const columns = [...new Set(odd.map(({ column }) => `"${(headings[column] ?? '').trim()}"`))];
  const examples = odd.map(({ row, column }) => placeInWords(places, row, column));
  return [finding('room/odd-spaces', source, { count: odd.length, columns, examples })];
}
