import { extname, join } from 'node:path';
import * as z from 'zod';
import { roomFields } from '../../core/model/room.ts';
import type { ListReading } from '../../core/rounds/list/check-list.ts';
import type { Recall } from '../../core/rounds/list/find-heading-row.ts';
import { type Mend, mendRows, withFlawsOf } from '../../core/rounds/list/lay-out-list.ts';
import { type Draft, openDraft } from '../files/drafts.ts';
import { makeFolders, moveInto, removeFile, writeDurably } from '../files/durable-files.ts';
import { readRegularFile } from '../files/regular-file.ts';
import { writeCsv } from '../rounds/write-export.ts';
import { mostListBytes, readTable } from './read-table.ts';

const wishesSchema = z.object({
  pointed: z.partialRecord(z.enum(roomFields), z.number().int().nonnegative()).optional(),
  sheet: z.string().optional(),
  mends: z.array(z.object({ index: z.number().int(), column: z.number().int(), text: z.string() })).default([]),
});

/** What somebody said of a list that was dropped on the desk. */
export interface ListWords {
  readonly pointed: Readonly<Partial<Record<(typeof roomFields)[number], number>>> | undefined;
  readonly mends: readonly Mend[];
  /** Of a workbook; undefined: the first that is not hidden. */
  readonly sheet?: string | undefined;
}

/** A room list that was dropped on the desk: our copy of it, and what was said of it since. */
export interface DroppedList {
  /** Its file's name as it came. */
  readonly name: string;
  readonly words: ListWords;
  readonly say: (words: ListWords) => Promise<void>;
  /** Its rows, with what was mended. */
  readonly read: (recall: Recall) => Promise<ListReading>;
  /** What a plan is made from: the bytes as they came, or those of the mended copy, which is CSV. */
  readonly bytes: () => Promise<{ readonly bytes: Uint8Array; readonly extension: string }>;
  readonly drop: () => Promise<void>;
}

/** Takes the bytes of a list; the one before is put away. The file that they came from is nobody's business here. */
export async function takeList(name: string, bytes: Uint8Array): Promise<void> {
  const draft = await openDraft('list');
  await makeFolders(draft.folder, 0o700);
  await putBeside(pathIn(draft, name), bytes);
  const before = draft.answers.name;
  await draft.keep({ name, words: '{}' });
  if (before !== undefined && pathIn(draft, before) !== pathIn(draft, name)) await removeFile(pathIn(draft, before));
}

const pathIn = ({ folder }: Draft, name: string, which = ''): string =>
  join(folder, `list${which}${/^\.\w{1,8}$/.test(extname(name)) ? extname(name).toLowerCase() : ''}`);

/** The list that lies on the desk; undefined where none does. */
export async function openDroppedList(): Promise<DroppedList | undefined> {
  const draft = await openDraft('list');
  const { name } = draft.answers;
  if (name === undefined) return undefined;
  const first = pathIn(draft, name);
  const mended = join(draft.folder, 'list-mended.csv');
  const words = wordsIn(draft.answers.words ?? '');
  const read = async (recall: Recall): Promise<ListReading> => {
    const wishes = { named: {}, recall, sheet: words.sheet };
    const original = await readTable(first, wishes);
    const { table, form } = original;
    if (words.mends.length === 0 || table === undefined || form === undefined) return original;
    const rows = mendRows(table.rows, words.mends);
    // Of a workbook each row is one line, so that a line of the copy is the row of that number.
    const cells = rows.map((row) => (form.kind === 'csv' ? row.cells : row.cells.map(withoutLineEnds)));
    await putBeside(mended, writeCsv(cells, form).bytes);
    const copy = await readTable(mended, wishes);
    if (copy.table?.rows.length !== rows.length) throw new TypeError('a mended list has the rows that were written');
    const { seen, sheets } = original;
    return { ...copy, table: withFlawsOf(copy.table, table, rows), seen, ...(sheets === undefined ? {} : { sheets }) };
  };
  return {
    name,
    words,
    say: async (said) => await draft.keep({ ...draft.answers, words: JSON.stringify(said) }),
    read,
    bytes: async () => {
      const path = words.mends.length === 0 ? first : mended;
      return { bytes: await readRegularFile(path, mostListBytes), extension: extname(path) };
    },
    drop: async () => {
      await draft.drop();
      for (const path of [first, mended]) await removeFile(path);
    },
  };
}

/** LINE SEPARATOR ends a line of a cell for whoever reads a list here, and no row for any reader of CSV. */
const withoutLineEnds = (cell: string): string => cell.replace(/\r\n|\r|\n/g, '\u2028');

function wordsIn(text: string): ListWords {
  try {
    const { pointed, mends, sheet } = wishesSchema.parse(JSON.parse(text));
    return { pointed, mends, sheet };
  } catch {
    return { pointed: undefined, mends: [] };
  }
}

async function putBeside(path: string, bytes: Uint8Array): Promise<void> {
  const fresh = `${path}.${process.pid}`;
  await removeFile(fresh);
  await writeDurably(fresh, bytes, 0o600);
  await moveInto(fresh, path);
}
