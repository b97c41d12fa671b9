import { type Finding, finding } from '../../findings/finding.ts';
import { type RoomField, roomFields } from '../../model/room.ts';
import { findHeadingRow, type HeadingRow, type NamedFields, type Recall } from './find-heading-row.ts';
import type { TableRow } from './list-table.ts';
import { type Columns, columnName, columnsOption, findNamedColumns, matchColumns } from './match-columns.ts';

/** A list without these is none. */
export const neededFields = ['room', 'label'] as const satisfies readonly RoomField[];

export interface Understood extends HeadingRow {
  /** Rows below the headings. */
  readonly below: readonly TableRow[];
  readonly missing: readonly RoomField[];
  readonly findings: readonly Finding[];
}

/**
 * Which row holds the headings and which column holds what; what is missing is not yet a finding, because it can be
 * asked.
 */
export function understandTable(
  rows: readonly TableRow[],
  named: NamedFields,
  recall: Recall,
  source: string,
): Understood | { readonly findings: readonly Finding[] } {
  const found = findHeadingRow(rows, named, recall);
  if (found?.index === undefined) {
    const first = rows.find(({ cells }) => cells.some((cell) => cell.trim() !== ''))?.cells ?? [];
    const texts = first.map((cell) => cell.trim()).filter((cell) => cell !== '');
    return { findings: [finding('room/headings-missing', source, { first: texts })] };
  }
  const { headings, columns } = found;
  const unknown = findNamedColumns(headings, named).unknown;
  if (unknown.length > 0) {
    const texts = headingTexts(headings);
    return { findings: unknown.map((one) => finding('room/column-not-there', source, { ...one, headings: texts })) };
  }
  return {
    ...found,
    below: rows.slice(found.index + 1),
    missing: neededFields.filter((field) => columns[field] === undefined),
    findings: rivalsOf(headings, columns, named, recall, source),
  };
}

export const headingTexts = (headings: readonly string[]): readonly string[] =>
  headings.map((heading) => heading.replace(/\s+/g, ' ').trim()).filter((heading) => heading !== '');

/** Only where the usual words decided: what a person named or what is remembered has no rival. */
function rivalsOf(
  headings: readonly string[],
  columns: Columns,
  named: NamedFields,
  recall: Recall,
  source: string,
): readonly Finding[] {
  const usual = matchColumns(headings);
  const remembered = recall(headings);
  return usual.rivals.flatMap(({ field, taken, others }) => {
    if (named[field] !== undefined || remembered?.[field] !== undefined || columns[field] !== taken) return [];
    const free = others.filter((column) => !Object.values(columns).includes(column));
    const [first] = free;
    if (first === undefined) return [];
    const facts = {
      field,
      taken: nameOf(headings, taken),
      others: free.map((column) => nameOf(headings, column)),
      option: columnsOption([[field, columnName(headings, first)]]),
    };
    return [finding('room/column-rivals', source, facts)];
  });
}

const nameOf = (headings: readonly string[], column: number): string =>
  (headings[column] ?? '').replace(/\s+/g, ' ').trim();

/** The finding that says how the columns were read, with who decided each. */
export function columnsRead(
  { headings, columns }: HeadingRow,
  named: NamedFields,
  recall: Recall,
  asked: Columns,
  source: string,
): Finding {
  const remembered = recall(headings) ?? {};
  const by = (field: RoomField): string => {
    if (asked[field] !== undefined) return 'as you picked';
    if (named[field] !== undefined) return 'as named';
    return remembered[field] === columns[field] ? 'remembered' : 'by its heading';
  };
  const used = new Set(Object.values(columns));
  const facts = {
    columns: roomFields.flatMap((field) => {
      const column = columns[field];
      return column === undefined ? [] : [{ field, heading: nameOf(headings, column), by: by(field) }];
    }),
    unused: headings.flatMap((heading, column) =>
      used.has(column) || heading.trim() === '' ? [] : [nameOf(headings, column)],
    ),
  };
  return finding('room/columns-read', source, facts);
}
