import { type Finding, finding } from '../../findings/finding.ts';
import { readLabel } from '../../label/read-label.ts';
import type { Family } from '../../model/family.ts';
import { type RoomField, roomFields } from '../../model/room.ts';
import { cleanCell, type TableRow } from './list-table.ts';
import { type Columns, columnName, columnsOption, matchColumns } from './match-columns.ts';
import { headingTexts } from './understand-table.ts';

/** Enough to tell a column of labels from others. */
const cellsToRead = 200;

export interface LabelColumn {
  readonly column: number;
  /** Cells that a family reads as a label. */
  readonly count: number;
  readonly families: readonly string[];
}

/**
 * The column in which most cells are labels of the families; undefined where none holds two, or where two hold as many.
 */
export function findLabelColumn(
  rows: readonly TableRow[],
  width: number,
  families: readonly Family[],
): LabelColumn | undefined {
  if (families.length === 0) return undefined;
  const counted = Array.from({ length: width }, (_, column) => countLabels(rows, column, families));
  const [best, second] = counted.toSorted((a, b) => b.count - a.count);
  return best === undefined || best.count < 2 || best.count === second?.count ? undefined : best;
}

export function countLabels(rows: readonly TableRow[], column: number, families: readonly Family[]): LabelColumn {
  const names = new Set<string>();
  let count = 0;
  for (const { cells } of rows.slice(0, cellsToRead)) {
    const { readings } = readLabel(cleanCell(cells[column] ?? '').text, families);
    if (readings.length === 0) continue;
    count++;
    for (const { family } of readings) names.add(family.family);
  }
  return { column, count, families: [...names] };
}

/**
 * What columns perhaps hold, by a usual word in their heading or by labels in their cells. For a question, never for a
 * decision.
 */
export function guessColumns(headings: readonly string[], columns: Columns, labels: LabelColumn | undefined): Columns {
  const taken = new Set(Object.values(columns));
  const hints = matchColumns(headings).hints;
  const byContent: Columns = labels === undefined ? {} : { label: labels.column };
  const guesses: Partial<Record<RoomField, number>> = {};
  for (const [field, column] of Object.entries({ ...hints, ...byContent }) as [RoomField, number][]) {
    if (columns[field] !== undefined || taken.has(column)) continue;
    guesses[field] = column;
    taken.add(column);
  }
  return guesses;
}

/** The finding where room or label stay unknown: the headings, the guess, and the exact option to give. */
export function columnsUnknown(
  headings: readonly string[],
  missing: readonly RoomField[],
  guesses: Columns,
  source: string,
): Finding {
  const choice = missing.map((field): readonly [RoomField, string] => {
    const column = guesses[field];
    return [field, column === undefined ? 'HEADING' : columnName(headings, column)];
  });
  const guessed = choice
    .filter(([, heading]) => heading !== 'HEADING')
    .map(([field, heading]) => `the ${field} in "${heading}"`);
  const facts = { missing, headings: headingTexts(headings), option: columnsOption(choice), guessed };
  return finding('room/columns-unknown', source, facts);
}

/** Fields that no heading stands for: the running build always, others where a heading looks like it. */
export function fieldsNotRead(headings: readonly string[], columns: Columns, source: string): readonly Finding[] {
  const guesses = guessColumns(headings, columns, undefined);
  return roomFields.flatMap((field) => {
    const column = guesses[field];
    if (columns[field] !== undefined || (field !== 'running' && column === undefined)) return [];
    const guess = column === undefined ? undefined : columnName(headings, column);
    const facts = {
      field: field === 'running' ? 'running build' : field,
      headings: headingTexts(headings),
      guess,
      option: columnsOption([[field, guess ?? 'HEADING']]),
    };
    return [finding('room/field-not-read', source, facts)];
  });
}

/** Says where another column than the label's looks more like labels. */
export function doubtLabelColumn(
  rows: readonly TableRow[],
  headings: readonly string[],
  taken: number,
  families: readonly Family[],
  source: string,
): readonly Finding[] {
  const other = findLabelColumn(rows, headings.length, families);
  if (other === undefined || other.column === taken) return [];
  const facts = {
    taken: headings[taken]?.trim() ?? '',
    takenCount: countLabels(rows, taken, families).count,
    other: headings[other.column]?.trim() ?? '',
    otherCount: other.count,
    families: other.families,
    option: columnsOption([['label', columnName(headings, other.column)]]),
  };
  return [finding('room/label-column-doubtful', source, facts)];
}
