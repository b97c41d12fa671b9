import { stringify } from 'csv-stringify/sync';
import type { ListForm } from '../../core/model/room.ts';
import { encodeText, type ListEncoding } from '../../core/rounds/list/decode-text.ts';

export interface WrittenCsv {
  readonly bytes: Uint8Array;
  /** How it was written: as asked, but in UTF-8 with a byte order mark where a character does not exist in that encoding. */
  readonly form: Extract<ListForm, { readonly kind: 'csv' }>;
}

/** What a workbook is given back as: RFC 4180 commas, and the mark that spreadsheet programs need to see UTF-8. */
const formForWorkbooks = { kind: 'csv', delimiter: ',', encoding: 'utf-8', byteOrderMark: true } as const;

/**
 * Rows of cells as the bytes of a CSV file, in the delimiter, encoding and byte order mark of the list they came from; line
 * ends are CR LF (RFC 4180 section 2). Cells are written as they are: formula escaping is done where cells are added
 * (core/rounds/list/give-back.ts).
 *
 * Use: `const { bytes } = writeCsv(giveBack(list, [{ row: room.row, column: 'running', text: build }]), list.form);`
 */
export function writeCsv(rows: readonly (readonly string[])[], form: ListForm): WrittenCsv {
  const wanted = form.kind === 'csv' ? form : formForWorkbooks;
  const text = stringify(
    rows.map((row) => [...row]),
    // A lone CR or LF ends a row for some readers, so it is quoted too.
    { delimiter: wanted.delimiter, record_delimiter: '\r\n', quoted_match: /[\r\n]/ },
  );
  const bytes = encodeText(text, asEncoding(wanted.encoding), wanted.byteOrderMark);
  if (bytes !== undefined) return { bytes, form: wanted };
  const utf8 = { ...wanted, encoding: 'utf-8', byteOrderMark: true };
  return { bytes: encodeText(text, 'utf-8', true) ?? new Uint8Array(), form: utf8 };
}

const asEncoding = (label: string): ListEncoding =>
  label === 'utf-16le' || label === 'utf-16be' || label === 'windows-1252' ? label : 'utf-8';
