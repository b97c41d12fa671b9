import { randomBytes } from 'node:crypto';
import { link, open, rm } from 'node:fs/promises';
import { dirname } from 'node:path';
import { ToolError } from '../../core/model/tool-error.ts';
import { moveInto, writeDurably } from '../files/durable-files.ts';
import { syncFolder } from '../files/sync-paths.ts';
import { codeOf } from '../shelf/shelf-error.ts';

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
    await rm(draft, { force: true }).catch(() => {});
    throw toExportError(cause, path);
  }
}

/** Gives the name only if nobody has it, in one step. */
async function showNew(draft: string, path: string): Promise<void> {
  try {
    await link(draft, path);
  } catch (cause) {
    if (codeOf(cause) === 'EEXIST') throw cause;
    // File systems without second names: the name is taken first.
    const taken = await open(path, 'wx');
    await taken.close();
    await moveInto(draft, path);
  }
  await rm(draft, { force: true });
  await syncFolder(dirname(path));
}

function toExportError(cause: unknown, path: string): unknown {
  const code = codeOf(cause);
  if (code === undefined) return cause;
  if (code === 'EEXIST') {
    const todo =
      'Choose another name, or add --overwrite if it may be replaced. Never name the list itself: it is its owner’s.';
    return new ToolError('file/not-permitted', path, `${path} is there already.`, todo, cause);
  }
  const todo = 'Check the folder, its rights and its free space, then run the same command again.';
  return new ToolError('round/write-failed', path, `${path} cannot be written (${code}).`, todo, cause);
}
