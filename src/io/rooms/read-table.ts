import { createHash } from 'node:crypto';
import { systemWordOf, ToolError } from '../../core/model/tool-error.ts';
import type { ListReading } from '../../core/rounds/list/check-list.ts';
import { identifyList } from '../../core/rounds/list/find-heading-row.ts';
import { openRegularFile } from '../files/regular-file.ts';
import { type ReadTable, readCsv } from './read-csv.ts';
import type { ListWishes } from './room-lists.ts';
import { readXlsx } from './workbook/read-xlsx.ts';

/** A list of some thousand rooms is below 1 MB. */
export const mostListBytes = 32_000_000;

/** A list's rows of cells, CSV or a workbook, and what was seen on the way there. Throws as the port says. */
export async function readTable(path: string, wishes: ListWishes): Promise<ListReading> {
  const bytes = await readListFile(path);
  if (bytes === undefined) {
    return { sha256: '', table: undefined, form: undefined, seen: [{ kind: 'too-large', what: 'more than 32 MB' }] };
  }
  return { sha256: createHash('sha256').update(bytes).digest('hex'), ...(await tableOf(bytes, wishes)) };
}

async function tableOf(bytes: Buffer, { named, recall, sheet }: ListWishes): Promise<ReadTable> {
  const identity = identifyList(bytes);
  switch (identity.kind) {
    case 'text':
      return readCsv(bytes, named, recall);
    case 'zip':
      return await readXlsx(bytes, sheet);
    case 'other':
      return { table: undefined, form: undefined, seen: [{ kind: 'other-kind', is: identity.what }] };
  }
}

/**
 * The bytes of a list; undefined where there are more than `mostListBytes`. Throws `file/not-found`,
 * `file/not-permitted`, `file/unreadable`.
 */
async function readListFile(path: string): Promise<Buffer | undefined> {
  try {
    const file = await openRegularFile(path);
    try {
      const { size } = await file.stat();
      return size > mostListBytes ? undefined : await file.readFile();
    } finally {
      await file.close();
    }
  } catch (cause) {
    if (cause instanceof ToolError) throw cause;
    const code = systemWordOf(cause);
    if (code === 'ENOENT' || code === 'ENOTDIR') {
      throw new ToolError(
        'file/not-found',
        path,
        `There is no room list ${path}.`,
        'Check the name and the folder.',
        cause,
      );
    }
    if (code === 'EACCES' || code === 'EPERM') {
      const todo = 'Ask whoever owns it for the right to read it, or for a copy.';
      throw new ToolError('file/not-permitted', path, `You may not read ${path}.`, todo, cause);
    }
    const todo = 'Close the program that has it open, and check the disk it lies on.';
    throw new ToolError('file/unreadable', path, `${path} cannot be read (${String(code)}).`, todo, cause);
  }
}
