import { randomBytes } from 'node:crypto';
import { link, open } from 'node:fs/promises';
import { dirname } from 'node:path';
import { stringify } from 'csv-stringify/sync';
import type { ListForm } from '../../core/model/room.ts';
import { systemWordOf, ToolError } from '../../core/model/tool-error.ts';
import { encodeText, type ListEncoding } from '../../core/rounds/list/decode-text.ts';
import { moveInto, removeFile, syncFolder, writeDurably } from '../files/durable-files.ts';

/**
 * Writes a file whole or not at all. One that is there is replaced only if REPLACE says so: it may be the list itself.
 * Throws `file/not-permitted`, `round/write-failed`.
 */
export async function writeExport(path: string, bytes: Uint8Array, replace: boolean): Promise<void> {
  const draft = `${path}.${randomBytes(6).toString('hex')}.new`;
  try {
    await writeDurably(draft, bytes);
    if (replace) await moveInto(draft, path);
    else await showNew(draft, path);
  } catch (cause) {
    await removeFile(draft).catch(() => {});
    throw toExportError(cause, path);
  }
}

/** Gives the name only if nobody has it, in one step. */
async function showNew(draft: string, path: string): Promise<void> {
  try {
    await link(draft, path);
  } catch (cause) {
    if (systemWordOf(cause) === 'EEXIST') throw cause;
    // File systems without second names: the name is taken first.
    const taken = await open(path, 'wx');
    await taken.close();
    await moveInto(draft, path);
  }
  await removeFile(draft);
  await syncFolder(dirname(path));
}

function toExportError(cause: unknown, path: string): unknown {
  const code = systemWordOf(cause);
  if (code === undefined) return cause;
  if (code === 'EEXIST') {
    const todo =
      'Choose another name, or add --overwrite if it may be replaced. Never name the list itself: it is its owner’s.';
    return new ToolError('file/not-permitted', path, `${path} is there already.`, todo, cause);
  }
  const todo = 'Check the folder, its rights and its free space, then run the same command again.';
  return new ToolError('round/write-failed', path, `${path} cannot be written (${code}).`, todo, cause);
}

interface WrittenCsv {
  readonly bytes: Uint8Array;
  /**
   * How it was written: as asked, but in UTF-8 with a byte order mark where a character does not exist in that
   * encoding.
   */
  readonly form: Extract<ListForm, { readonly kind: 'csv' }>;
}

/** What a workbook is given back as: RFC 4180 commas, and the mark that spreadsheet programs need to see UTF-8. */
const formForWorkbooks = { kind: 'csv', delimiter: ',', encoding: 'utf-8', byteOrderMark: true } as const;

/**
 * Rows of cells as the bytes of a CSV file, in the delimiter and encoding of the list they came from, with a byte order
 * mark where it had one or where letters need it; line ends are CR LF (RFC 4180 section 2). Cells are written as they
 * are: what a spreadsheet would run is escaped in core/rounds/filled/export-changes.ts.
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
  const encoding = asEncoding(wanted.encoding);
  // Without the mark spreadsheet programs take UTF-8 for the code page of the country, and spoil every accent.
  const byteOrderMark = wanted.byteOrderMark || (encoding === 'utf-8' && /[^\0-\x7f]/.test(text));
  const bytes = encodeText(text, encoding, byteOrderMark);
  if (bytes !== undefined) return { bytes, form: { ...wanted, byteOrderMark } };
  const utf8 = { ...wanted, encoding: 'utf-8', byteOrderMark: true };
  return { bytes: encodeText(text, 'utf-8', true) ?? new Uint8Array(), form: utf8 };
}

const asEncoding = (label: string): ListEncoding =>
  label === 'utf-16le' || label === 'utf-16be' || label === 'windows-1252' ? label : 'utf-8';
