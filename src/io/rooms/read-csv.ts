import { type Finding, finding } from '../../core/findings/finding.ts';
import type { ListForm } from '../../core/model/room.ts';
import { chooseDelimiter, delimiters } from '../../core/rounds/list/choose-delimiter.ts';
import { decodeText } from '../../core/rounds/list/decode-text.ts';
import type { NamedFields, Recall } from '../../core/rounds/list/find-heading-row.ts';
import type { ListTable } from '../../core/rounds/list/list-table.ts';
import { parseCsv } from './parse-csv.ts';

/** A file as rows of cells, before anything is understood. */
export interface ReadTable {
  readonly table: ListTable | undefined;
  readonly form: ListForm | undefined;
  readonly findings: readonly Finding[];
}

/** Rows that the delimiter is judged by. */
const rowsToJudge = 60;
const mostRows = 50_000;

/** Reads a text as CSV: encoding and delimiter are found, every row has its line number. */
export function readCsv(bytes: Uint8Array, source: string, named: NamedFields, recall: Recall): ReadTable {
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
  const findings: Finding[] = assumed ? [finding('room/encoding-assumed', source, { mixed })] : [];
  const form: ListForm = { kind: 'csv', delimiter, encoding, byteOrderMark };
  if (rows.length > mostRows || stoppedAt !== undefined) {
    const what =
      stoppedAt === undefined
        ? `more than ${mostRows.toLocaleString('en-US')} rows`
        : `so many quotation marks that do not close that reading stopped at line ${stoppedAt}`;
    return { table: undefined, form, findings: [...findings, finding('room/too-large', source, { what })] };
  }
  const below = said === undefined ? rows : rows.slice(1);
  return { table: { rows: below, places: 'lines' }, form, findings };
}

/** `sep=;` on the first line: how some spreadsheet programs are told the delimiter. */
function delimiterSaid(text: string): string | undefined {
  const [, said] = /^"?sep=([;,|\t])"?(?=\r|\n)/i.exec(text) ?? [];
  return said;
}
