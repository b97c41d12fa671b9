import { CsvError, parse } from 'csv-parse/sync';
import type { ListForm } from '../../core/model/room.ts';
import type { ListFact, ListReading } from '../../core/rounds/list/check-list.ts';
import { chooseDelimiter, decodeText, delimiters } from '../../core/rounds/list/decode-text.ts';
import type { NamedFields, Recall } from '../../core/rounds/list/find-heading-row.ts';
import type { TableRow } from '../../core/rounds/list/list-table.ts';

/** Rows of cells, and what was seen on the way to them. */
export type ReadTable = Omit<ListReading, 'sha256'>;

/** Rows that the delimiter is judged by. */
const rowsToJudge = 60;
const mostRows = 50_000;

/** Reads a text as CSV: encoding and delimiter are found, every row has its line number. */
export function readCsv(bytes: Uint8Array, named: NamedFields, recall: Recall): ReadTable {
  const { text, encoding, byteOrderMark, assumed, mixed } = decodeText(bytes);
  const said = delimiterSaid(text);
  const delimiter =
    said ??
    chooseDelimiter(
      delimiters.map((one) => ({ delimiter: one, rows: parseCsv(text, one, rowsToJudge).rows })),
      named,
      recall,
    );
  const { rows, stoppedAt } = parseCsv(text, delimiter, mostRows + 1);
  const seen: readonly ListFact[] = assumed ? [{ kind: 'encoding-assumed', mixed }] : [];
  const form: ListForm = { kind: 'csv', delimiter, encoding, byteOrderMark };
  if (rows.length > mostRows || stoppedAt !== undefined) {
    const what =
      stoppedAt === undefined
        ? `more than ${mostRows.toLocaleString('en-US')} rows`
        : `so many quotation marks that do not close that reading stopped at line ${stoppedAt}`;
    return { table: undefined, form, seen: [...seen, { kind: 'too-large', what }] };
  }
  const below = said === undefined ? rows : rows.slice(1);
  return { table: { rows: below, places: 'lines' }, form, seen };
}

/** `sep=;` on the first line: how some spreadsheet programs are told the delimiter. */
function delimiterSaid(text: string): string | undefined {
  const [, said] = /^"?sep=([;,|\t])"?(?=\r|\n)/i.exec(text) ?? [];
  return said;
}

interface CsvReading {
  readonly rows: readonly TableRow[];
  /** More broken lines than a list has: the rest was not read. */
  readonly stoppedAt: number | undefined;
}

const mostBrokenLines = 50;
const lineBreak = /\r\n|\r|\n/g;

/**
 * The rows of a CSV text (RFC 4180, with any delimiter and any line ends), each with the line it begins on. A quotation
 * mark that never closes costs its own line only: that line is read without quoting and flagged, and reading goes on
 * below it.
 */
export function parseCsv(text: string, delimiter: string, mostRows?: number): CsvReading {
  const starts = lineStarts(text);
  const rows: TableRow[] = [];
  let line = 1;
  for (let broken = 0; line <= starts.length; broken++) {
    if (broken > mostBrokenLines) return { rows, stoppedAt: line };
    const wanted = mostRows === undefined ? undefined : mostRows - rows.length;
    const part = parsePart(text.slice(starts[line - 1]), delimiter, line, wanted);
    rows.push(...part.rows);
    if (part.brokenLine === undefined || (mostRows !== undefined && rows.length >= mostRows)) break;
    rows.push(readUnquoted(text, starts, part.brokenLine, delimiter));
    line = part.brokenLine + 1;
  }
  return { rows, stoppedAt: undefined };
}

interface Part {
  readonly rows: readonly TableRow[];
  /** Where a quotation mark opens that does not close. */
  readonly brokenLine: number | undefined;
}

interface RawRecord {
  readonly record: string[];
  readonly raw: string;
}

const options = {
  // Cells such as 75" panel are common; whatever is odd about a quotation mark is told from the cells.
  relax_quotes: true,
  relax_column_count: true,
  skip_empty_lines: false,
  record_delimiter: ['\r\n', '\n', '\r'],
};

function parsePart(text: string, delimiter: string, firstLine: number, mostRows: number | undefined): Part {
  const records: RawRecord[] = [];
  let open = false;
  try {
    parse(text, {
      ...options,
      delimiter,
      raw: true,
      ...(mostRows === undefined ? {} : { to: Math.max(1, mostRows) }),
      // Kept as they come, because an open quotation mark at the end throws away what parse() would return.
      on_record: (one: unknown) => {
        records.push(one as RawRecord);
        return null;
      },
    });
  } catch (cause) {
    if (!(cause instanceof CsvError) || cause.code !== 'CSV_QUOTE_NOT_CLOSED') throw cause;
    open = true;
  }
  const usual = usualWidth(records);
  const rows: TableRow[] = [];
  let line = firstLine;
  for (const one of records) {
    if (hasSwallowedRows(one, delimiter, usual)) return { rows, brokenLine: line };
    const { record, raw } = one;
    const holding = record.flatMap((cell, column) => (holdsRows(cell, delimiter, usual) ? [column] : []));
    const flaws = holding.map((column) => ({ kind: 'holds-rows', column }) as const);
    rows.push({ row: line, cells: record, ...(flaws.length === 0 ? {} : { flaws }) });
    // A record's text ends with the first character of its line end.
    line += (raw.replace(/[\r\n]$/, '').match(lineBreak)?.length ?? 0) + 1;
  }
  return { rows, brokenLine: open ? line : undefined };
}

/**
 * An open quotation mark closes at the next one, rows later: then the record is no sound CSV, or has another number of
 * cells than its neighbours while one of its cells holds whole rows.
 */
function hasSwallowedRows({ record, raw }: RawRecord, delimiter: string, usual: number): boolean {
  if (!record.some((cell) => /[\r\n]/.test(cell))) return false;
  return (
    !isStrict(raw, delimiter) || (record.length !== usual && record.some((cell) => holdsRows(cell, delimiter, usual)))
  );
}

const holdsRows = (cell: string, delimiter: string, usual: number): boolean =>
  /[\r\n]/.test(cell) &&
  Math.max(...cell.split(/\r\n|\r|\n/).map((line) => line.split(delimiter).length - 1)) >= Math.max(2, usual - 2);

function isStrict(raw: string, delimiter: string): boolean {
  try {
    return parse(raw, { ...options, delimiter, relax_quotes: false }).length === 1;
  } catch {
    return false;
  }
}

function usualWidth(records: readonly RawRecord[]): number {
  const counts = new Map<number, number>();
  for (const { record } of records) counts.set(record.length, (counts.get(record.length) ?? 0) + 1);
  return [...counts].toSorted((a, b) => b[1] - a[1] || b[0] - a[0])[0]?.[0] ?? 0;
}

function readUnquoted(text: string, starts: readonly number[], line: number, delimiter: string): TableRow {
  const whole = text.slice(starts[line - 1], starts[line] ?? text.length).replace(/[\r\n]+$/, '');
  const [cells = []] = parse(whole, { ...options, delimiter, quote: false }) as string[][];
  return { row: line, cells, flaws: [{ kind: 'open-quote' }] };
}

/** Where each line begins. */
function lineStarts(text: string): readonly number[] {
  const starts = [0];
  for (const match of text.matchAll(lineBreak)) starts.push(match.index + match[0].length);
  if (starts.at(-1) === text.length) starts.pop();
  return starts;
}
