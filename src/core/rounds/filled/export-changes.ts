import type { RoomField, RoomList, UnusedRow } from '../../model/room.ts';
import { normaliseHeading } from '../list/list-table.ts';
import type { RoomProgress, RoomStatus, RoundStatus } from '../records/round-status.ts';
import { type FilledField, filledFields, filledHeadings, ownHeading } from './filled-columns.ts';

/** What the column for the outcome says; read again by outcome-words.ts. */
export const progressWords: Readonly<Record<RoomProgress, string>> = {
  done: 'done',
  'under-way': 'under way',
  unclear: 'unclear',
  failed: 'failed',
  skipped: 'skipped',
  prepared: 'prepared',
  open: 'open',
  'over-the-air': 'over the air',
  held: 'held',
  'up-to-date': 'up to date',
};

/** The same of a row that is no room of the round: every row comes back with what became of it. */
const unusedWords: Readonly<Record<UnusedRow['why'], string>> = {
  unusable: 'cannot be used',
  repeated: 'said twice',
  'no-room': 'no room',
};

/**
 * What is to be written into the owner's list: the running build where a new one was read, and what was done at the
 * right.
 */
export function exportChanges({ rooms }: RoundStatus, list: RoomList): readonly CellChange[] {
  const headings = headingsFor(list);
  const unused = list.unused.flatMap(({ row, why, reason }): readonly CellChange[] => [
    { row, column: { heading: headings.outcome }, text: unusedWords[why] },
    { row, column: { heading: headings.words }, text: reason },
  ]);
  const ofRooms = rooms.flatMap((status) => {
    const { row } = status.room;
    const cells = cellsOf(status);
    const running: readonly CellChange[] =
      status.reached !== null && list.columns.running !== undefined
        ? [{ row, column: 'running', text: status.reached }]
        : [];
    return [
      ...running,
      ...filledFields.map((field) => ({ row, column: { heading: headings[field] }, text: cells[field] })),
    ];
  });
  return [...ofRooms, ...unused];
}

/**
 * A list that has such a column of its own keeps it: ours is then named as the round's. Our own export is filled again.
 */
function headingsFor({ headings }: RoomList): Readonly<Record<FilledField, string>> {
  const there = new Set(headings.map(normaliseHeading));
  const has = (field: FilledField): boolean => there.has(normaliseHeading(filledHeadings[field]));
  if (filledFields.every(has)) return filledHeadings;
  const named = (field: FilledField): string => (has(field) ? ownHeading(field) : filledHeadings[field]);
  return {
    outcome: named('outcome'),
    build: named('build'),
    at: named('at'),
    who: named('who'),
    stick: named('stick'),
    words: named('words'),
  };
}

function cellsOf({ progress, last }: RoomStatus): Readonly<Record<FilledField, string>> {
  const visit = last?.visit;
  return {
    outcome: progressWords[progress],
    build: visit?.buildAfter ?? '',
    at: visit?.at ?? '',
    who: visit?.who ?? '',
    stick: visit?.stick ?? '',
    words: visit?.text ?? '',
  };
}

/** One cell to write into a list: of a field that the list has, or under a heading of its own at the right. */
interface CellChange {
  /** As in `Room.row`. */
  readonly row: number;
  /** A field's own column, where the list has one; else, and for any other text, a column of that heading. */
  readonly column: RoomField | { readonly heading: string };
  readonly text: string;
}

/**
 * The list as its owner keeps it, with some cells changed: the rows of cells to write, headings first. Everything that
 * is not changed stays as it stands there, also bad rows, their order and their length. New columns come at the right,
 * in the order in which they are first named; where the list has that heading already, its column is used. No cell is
 * run as a formula, neither one that is written here nor one of the owner's: whoever opens the list trusts all of it.
 *
 * Use: `writeCsv(giveBack(list, changes), list.form)` in io/rounds/write-export.ts makes the file's bytes.
 */
export function giveBack(list: RoomList, changes: readonly CellChange[]): readonly (readonly string[])[] {
  const headings = [...list.headings];
  const filled = list.rows.map(({ cells }) => cells.findLastIndex((cell) => cell !== '') + 1);
  // Cells beyond the headings keep their place; a new column must not come to stand above them.
  const firstNew = filled.reduce((most, count) => Math.max(most, count), headings.length);
  const byRow = new Map<number, Map<number, string>>();
  for (const { row, column, text } of changes) {
    const index = columnOf(list, headings, column, firstNew);
    const cells = byRow.get(row) ?? new Map<number, string>();
    byRow.set(row, cells.set(index, text));
  }
  const rows = list.rows.map(({ row, cells }) => changed(cells, byRow.get(row)));
  return [headings, ...rows].map((cells) => cells.map(guardFormula));
}

function columnOf(list: RoomList, headings: string[], column: CellChange['column'], firstNew: number): number {
  const own = typeof column === 'string' ? list.columns[column] : undefined;
  if (own !== undefined) return own;
  const heading = typeof column === 'string' ? column : column.heading;
  const there = headings.findIndex((one) => normaliseHeading(one) === normaliseHeading(heading));
  if (there >= 0) return there;
  while (headings.length < firstNew) headings.push('');
  return headings.push(heading) - 1;
}

function changed(cells: readonly string[], changes: ReadonlyMap<number, string> | undefined): readonly string[] {
  if (changes === undefined) return cells;
  const whole = [...cells];
  for (const [column, text] of changes) {
    while (whole.length <= column) whole.push('');
    whole[column] = text;
  }
  return whole;
}

/**
 * A text that no spreadsheet runs: an apostrophe before the signs that begin a formula (OWASP, CSV Injection). A plain
 * number or a dash alone is none.
 */
const guardFormula = (text: string): string =>
  /^[=+\-@\t\r\uFF1D\uFF0B\uFF0D\uFF20]/.test(text) && !/^[+-]?[\d.,\s]*$/.test(text) ? `'${text}` : text;
