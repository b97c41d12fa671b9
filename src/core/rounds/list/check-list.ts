import type { ListKind } from '../../findings/catalogue/room.ts';
import { type Finding, finding } from '../../findings/finding.ts';
import type { Family } from '../../model/family.ts';
import type { ListForm, RoomList } from '../../model/room.ts';
import type { NamedFields, Recall } from './find-heading-row.ts';
import type { ListTable } from './list-table.ts';
import type { Columns } from './match-columns.ts';
import { readRooms } from './read-rooms.ts';
import { columnsUnknown, doubtLabelColumn, fieldsNotRead } from './suggest-columns.ts';
import { columnsRead, type Understood, understandTable } from './understand-table.ts';

/** A file as rows of cells, before anything is understood. */
export interface ListReading {
  /** Of the file's bytes. */
  readonly sha256: string;
  /** Undefined where it is no list, or too large for one. */
  readonly table: ListTable | undefined;
  readonly form: ListForm | undefined;
  /** What was seen on the way to the rows. */
  readonly seen: readonly ListFact[];
  /** Of a workbook, in its order. */
  readonly sheets?: readonly SheetSeen[];
}

/** A sheet of cells. */
export interface SheetSeen {
  readonly name: string;
  readonly isHidden: boolean;
}

export type ListFact =
  | { readonly kind: 'encoding-assumed'; readonly mixed: boolean }
  | { readonly kind: 'too-large'; readonly what: string }
  | { readonly kind: 'other-kind'; readonly is: ListKind }
  | { readonly kind: 'sheet-missing'; readonly wanted: string | undefined; readonly sheets: readonly string[] }
  | { readonly kind: 'sheet-chosen'; readonly sheet: string; readonly others: readonly string[] }
  | { readonly kind: 'damaged'; readonly problem: string };

/** What is to be said of a file before its rows are understood. */
export const checkListFile = (source: string, { seen }: Pick<ListReading, 'seen'>): readonly Finding[] =>
  seen.map((fact) => checkFact(source, fact));

function checkFact(source: string, fact: ListFact): Finding {
  switch (fact.kind) {
    case 'encoding-assumed':
      return finding('room/encoding-assumed', source, { mixed: fact.mixed });
    case 'too-large':
      return finding('room/too-large', source, { what: fact.what });
    case 'other-kind':
      return finding('room/not-a-list', source, { kind: fact.is });
    case 'sheet-missing':
      return finding('room/sheet-missing', source, { wanted: fact.wanted, sheets: fact.sheets });
    case 'sheet-chosen':
      return finding('room/sheet-chosen', source, { sheet: fact.sheet, others: fact.others });
    case 'damaged':
      return finding('room/workbook-damaged', source, { problem: fact.problem });
  }
}

/** Why what was said of the columns of earlier lists cannot be used, or what is said now cannot be kept. */
export const checkMemory = (place: string, problem: string | undefined): readonly Finding[] =>
  problem === undefined ? [] : [finding('room/column-memory', place, { problem })];

interface SettledColumns {
  readonly columns: Columns;
  /** What a person picked just now. */
  readonly asked: Columns;
  readonly named: NamedFields;
  readonly recall: Recall;
  readonly families: readonly Family[];
}

/** The rooms of a list whose columns are settled, with all that is to be said of them. */
export function makeRoomList(
  source: string,
  { sha256, table, form }: ListReading,
  understood: Understood,
  { columns, asked, named, recall, families }: SettledColumns,
): { readonly list: RoomList | undefined; readonly findings: readonly Finding[] } {
  const { headings, below } = understood;
  const findings = [
    columnsRead({ ...understood, columns }, named, recall, asked, source),
    ...fieldsNotRead(headings, columns, source),
    ...doubtLabelColumn(below, headings, columns.label ?? 0, families, source),
  ];
  if (below.length === 0 || table === undefined || form === undefined) {
    return { list: undefined, findings: [...findings, finding('room/no-rows', source)] };
  }
  const { rooms, unused, findings: ofRows } = readRooms(below, { source, places: table.places, headings, columns });
  const rows = below.map(({ row, cells }) => ({ row, cells }));
  return { list: { source, sha256, form, headings, columns, rooms, unused, rows }, findings: [...findings, ...ofRows] };
}

/** A list that was understood before, by the columns of then. */
export function makeListAgain(
  source: string,
  read: ListReading,
  known: Columns,
): { readonly list: RoomList | undefined; readonly findings: readonly Finding[] } {
  const recall = () => known;
  const ofFile = checkListFile(source, read);
  if (read.table === undefined) return { list: undefined, findings: ofFile };
  const understood = understandTable(read.table.rows, {}, recall, source);
  const findings = [...ofFile, ...understood.findings];
  if (!('below' in understood)) return { list: undefined, findings };
  const { headings, columns, missing } = understood;
  if (missing.length > 0) {
    return { list: undefined, findings: [...findings, columnsUnknown(headings, missing, {}, source)] };
  }
  const made = makeRoomList(source, read, understood, { columns, asked: {}, named: {}, recall, families: [] });
  return { ...made, findings: [...findings, ...made.findings] };
}
