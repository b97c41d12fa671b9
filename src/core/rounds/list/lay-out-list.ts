import { type Finding, inOrder } from '../../findings/finding.ts';
import type { Family } from '../../model/family.ts';
import { type RoomField, type RoomList, roomFields, type UnusedRow } from '../../model/room.ts';
import { groupBy } from '../../text/words.ts';
import { checkListFile, type ListReading, makeRoomList } from './check-list.ts';
import type { Recall } from './find-heading-row.ts';
import { type ListTable, placeInWords, type TableRow } from './list-table.ts';
import type { Columns } from './match-columns.ts';
import { columnsUnknown, findLabelColumn, guessColumns } from './suggest-columns.ts';
import { headingTexts, neededFields, understandTable } from './understand-table.ts';

/** A column as it lies on the table: what stands above and in it, what it is taken for, and who said so. */
export interface ColumnLaidOut {
  readonly column: number;
  readonly heading: string;
  /** Its first cells that hold something. */
  readonly cells: readonly string[];
  readonly field: RoomField | undefined;
  readonly by: 'pointed' | 'remembered' | 'heading' | undefined;
  readonly perhaps: RoomField | undefined;
}

/** A row that something is to be said of. */
export interface RowLaidOut {
  /** Where it is among all rows, from 0; a mended list has the same rows. */
  readonly index: number;
  /** As in `Room.row`. */
  readonly row: number;
  readonly place: string;
  readonly cells: readonly string[];
  readonly findings: readonly Finding[];
  /** Why it is no room of the round; undefined where it is one. */
  readonly unused: UnusedRow | undefined;
}

export interface ListLaidOut {
  readonly headings: readonly string[];
  readonly columns: readonly ColumnLaidOut[];
  readonly missing: readonly RoomField[];
  readonly rows: readonly RowLaidOut[];
  /** About the list as a whole. */
  readonly findings: readonly Finding[];
  /** Undefined where no room can be read yet. */
  readonly list: RoomList | undefined;
  /** Everything, as a plan is to say it. */
  readonly all: readonly Finding[];
}

interface LayOutWishes {
  /** Everything that a person pointed at; undefined where nobody has yet. */
  readonly pointed: Columns | undefined;
  readonly recall: Recall;
  readonly families: readonly Family[];
  /** Rows to be shown although nothing is to be said of them. */
  readonly alsoRows: readonly number[];
}

/** A list laid out on a table, column by column and row by row, for somebody who points at what is what. */
export function layOutList(source: string, read: ListReading, wishes: LayOutWishes): ListLaidOut {
  const { pointed, recall, families } = wishes;
  const ofFile = checkListFile(source, read);
  const nothing = { headings: [], columns: [], missing: neededFields, rows: [], list: undefined };
  if (read.table === undefined) return { ...nothing, findings: ofFile, all: ofFile };
  const understood = understandTable(read.table.rows, {}, recall, source);
  if (!('below' in understood)) {
    const findings = [...ofFile, ...understood.findings];
    return { ...nothing, findings, all: findings };
  }
  const { headings, below } = understood;
  const columns = pointed ?? understood.columns;
  const missing = neededFields.filter((field) => columns[field] === undefined);
  const guesses = guessColumns(headings, columns, findLabelColumn(below, headings.length, families));
  const made =
    missing.length > 0
      ? { list: undefined, findings: [columnsUnknown(headings, missing, guesses, source)] }
      : makeRoomList(source, read, understood, {
          columns,
          asked: pointed ?? {},
          named: {},
          recall,
          families,
        });
  const all = [...ofFile, ...(pointed === undefined ? understood.findings : []), ...made.findings];
  const rows = rowsOf(source, read.table, understood.index ?? -1, all, made.list, wishes.alsoRows);
  const ofRows = new Set(rows.flatMap(({ findings }) => findings));
  return {
    headings,
    columns: headings.map((heading, column) => {
      const field = roomFields.find((one) => columns[one] === column);
      return {
        column,
        heading: headingTexts([heading])[0] ?? '',
        cells: firstCells(below, column),
        field,
        by: field === undefined ? undefined : byWhom(field, column, headings, wishes),
        perhaps: roomFields.find((one) => guesses[one] === column),
      };
    }),
    missing,
    rows,
    findings: all.filter((found) => !ofRows.has(found)),
    list: made.list,
    all,
  };
}

const firstCells = (rows: readonly TableRow[], column: number): readonly string[] => {
  const cells: string[] = [];
  for (const row of rows) {
    const text = row.cells[column]?.trim() ?? '';
    if (text !== '' && cells.push(text) === 3) break;
  }
  return cells;
};

function byWhom(field: RoomField, column: number, headings: readonly string[], { pointed, recall }: LayOutWishes) {
  if (pointed !== undefined) return 'pointed';
  return recall(headings)?.[field] === column ? 'remembered' : 'heading';
}

function rowsOf(
  source: string,
  { rows, places }: ListTable,
  headingIndex: number,
  all: readonly Finding[],
  list: RoomList | undefined,
  also: readonly number[],
): readonly RowLaidOut[] {
  const bySubject = groupBy(all, ({ subject }) => subject);
  const unused = new Map(list?.unused.map((one) => [one.row, one]));
  return rows.flatMap(({ row, cells }, index) => {
    const findings = inOrder(bySubject.get(`${source}:${row}`) ?? []);
    const left = unused.get(row);
    const isSaid = findings.length > 0 || left !== undefined || also.includes(row);
    if (index <= headingIndex || !isSaid) return [];
    return [{ index, row, place: placeInWords(places, row), cells, findings, unused: left }];
  });
}

/** What a person put into a cell instead of what stood there. */
export interface Mend {
  /** Of the row among all rows, from 0. */
  readonly index: number;
  readonly column: number;
  readonly text: string;
}

/** The rows with what was mended; everything else as it stands there, so that it can be written again. */
export function mendRows(rows: readonly TableRow[], mends: readonly Mend[]): readonly TableRow[] {
  const byIndex = groupBy(mends, ({ index }) => index);
  return rows.map((row, index) => {
    const own = byIndex.get(index);
    if (own === undefined) return row;
    const cells = [...row.cells];
    for (const { column, text } of own) {
      while (cells.length <= column) cells.push('');
      cells[column] = text;
    }
    const isMended = (column: number): boolean => own.some((one) => one.column === column);
    // An empty cell at the end that somebody emptied is no cell any more.
    while (cells.length > 0 && cells.at(-1) === '' && isMended(cells.length - 1)) cells.pop();
    // Whoever mended a row with a stray quotation mark has looked at every cell of it.
    const flaws = row.flaws?.filter((flaw) =>
      flaw.kind === 'open-quote' ? false : flaw.kind === 'hidden' || !isMended(flaw.column),
    );
    return { row: row.row, cells, ...(flaws === undefined || flaws.length === 0 ? {} : { flaws }) };
  });
}

/** A mended copy as it was read again, with what the form of the first one said of cells that nobody mended. */
export const withFlawsOf = (copy: ListTable, first: ListTable, mended: readonly TableRow[]): ListTable => ({
  places: first.places,
  rows: copy.rows.map(({ row, cells }, index) => {
    const { flaws } = mended[index] ?? {};
    return { row, cells, ...(flaws === undefined ? {} : { flaws }) };
  }),
});
