import { type RoomField, roomFields } from '../../model/room.ts';
import { headingWords } from './heading-words.ts';
import { normaliseHeading, withoutBrackets } from './list-table.ts';

export type Columns = Readonly<Partial<Record<RoomField, number>>>;

interface ColumnMatch {
  readonly columns: Columns;
  /** Columns that could stand for a field as well as the one that was taken. */
  readonly rivals: readonly { readonly field: RoomField; readonly taken: number; readonly others: readonly number[] }[];
  /** Columns that perhaps stand for a field; never taken, only suggested. */
  readonly hints: Columns;
}

const rank = { sure: 2, likely: 1, hint: 0 };

/** Which column stands for which field, by the usual headings; the surest heading wins, then the leftmost. */
export function matchColumns(headings: readonly string[]): ColumnMatch {
  const readings = headings.map(recogniseHeading);
  const columns: Partial<Record<RoomField, number>> = {};
  const hints: Partial<Record<RoomField, number>> = {};
  const rivals: ColumnMatch['rivals'][number][] = [];
  for (const field of roomFields) {
    const found = readings.flatMap((reading, column) =>
      reading?.field === field ? [{ column, rank: rank[reading.strength] }] : [],
    );
    const best = found.toSorted((a, b) => b.rank - a.rank || a.column - b.column)[0];
    if (best === undefined) continue;
    if (best.rank === rank.hint) {
      hints[field] = best.column;
      continue;
    }
    columns[field] = best.column;
    const others = found.filter(({ column, rank }) => rank === best.rank && column !== best.column);
    if (others.length > 0) rivals.push({ field, taken: best.column, others: others.map(({ column }) => column) });
  }
  return { columns, rivals, hints };
}

/** The columns that a person named, by heading or as `#3`; and what cannot be found or is there twice. */
export function findNamedColumns(
  headings: readonly string[],
  named: Readonly<Partial<Record<RoomField, string>>>,
): { readonly columns: Columns; readonly unknown: readonly { readonly field: RoomField; readonly heading: string }[] } {
  const columns: Partial<Record<RoomField, number>> = {};
  const unknown: { field: RoomField; heading: string }[] = [];
  for (const field of roomFields) {
    const heading = named[field];
    if (heading === undefined) continue;
    const column = findColumn(headings, heading);
    if (column === undefined) unknown.push({ field, heading });
    else columns[field] = column;
  }
  return { columns, unknown };
}

/**
 * The one column with this heading: exactly, else as normalised; `#3` is the third. Undefined where none or several
 * have it.
 */
export function findColumn(headings: readonly string[], wanted: string): number | undefined {
  const equal = (same: (heading: string) => boolean): readonly number[] =>
    headings.flatMap((heading, column) => (same(heading) ? [column] : []));
  const exact = equal((heading) => heading.trim() === wanted.trim());
  const close =
    normaliseHeading(wanted) === '' ? [] : equal((heading) => normaliseHeading(heading) === normaliseHeading(wanted));
  const found = exact.length > 0 ? exact : close;
  if (found.length === 1) return found[0];
  const [, ordinal] = /^#(\d{1,4})$/.exec(wanted.trim()) ?? [];
  const column = Number(ordinal) - 1;
  return found.length === 0 && ordinal !== undefined && column >= 0 && column < headings.length ? column : undefined;
}

/**
 * How a heading is given to --columns: as it stands there, or as `#3` where it is empty, not unique or hard to type.
 */
export function columnName(headings: readonly string[], column: number): string {
  const heading = (headings[column] ?? '').trim();
  const plain = heading !== '' && !/["$`\\\n\r]|,\s*\w+=/.test(heading) && !heading.startsWith('#');
  return plain && findColumn(headings, heading) === column ? heading : `#${column + 1}`;
}

/** `--columns "room=Raum,label=Typenschild"`. */
export const columnsOption = (choice: readonly (readonly [RoomField, string])[]): string =>
  `--columns "${choice.map(([field, heading]) => `${field}=${heading}`).join(',')}"`;

interface HeadingReading {
  readonly field: RoomField;
  /** `hint`: a usual heading stands in it among other words; good for a suggestion, not for a decision. */
  readonly strength: 'sure' | 'likely' | 'hint';
}

const strengthOf = new Map<string, HeadingReading[]>();
for (const field of roomFields) {
  for (const strength of ['sure', 'likely'] as const) {
    for (const word of headingWords[field][strength]) {
      const key = normaliseHeading(word);
      const known = strengthOf.get(key) ?? [];
      // Several languages share a word.
      if (!known.some((one) => one.field === field)) strengthOf.set(key, [...known, { field, strength }]);
    }
  }
}

/** What a heading usually stands for; nothing where it is unknown or stands for two fields alike. */
export function recogniseHeading(heading: string): HeadingReading | undefined {
  for (const text of [heading, withoutBrackets(heading)]) {
    const readings = strengthOf.get(normaliseHeading(text)) ?? [];
    const sure = readings.filter(({ strength }) => strength === 'sure');
    const best = sure.length > 0 ? sure : readings;
    if (best.length === 1) return best[0];
    if (best.length > 1) return undefined;
  }
  return hintIn(heading);
}

function hintIn(heading: string): HeadingReading | undefined {
  const words = normaliseHeading(heading).split(' ');
  if (words.length > 8) return undefined;
  const fields = new Set(
    words.flatMap((word) =>
      (strengthOf.get(word) ?? []).filter(({ strength }) => strength === 'sure').map(({ field }) => field),
    ),
  );
  const [field] = fields;
  return field !== undefined && fields.size === 1 ? { field, strength: 'hint' } : undefined;
}
