import { open } from 'node:fs/promises';
import { runProgram } from '../../programs/run-program.ts';
import { errnoOf } from '../os-error.ts';

const atOnce = 4;
/** From here on one call for the whole file system is cheaper than one a file. */
const manyFiles = 24;

/** What a folder, or a driver that has nothing to do, answers to fsync. */
const nothingToSync = new Set(['EINVAL', 'EPERM', 'EISDIR', 'EACCES', 'ENOTSUP', 'ENOSYS', 'EBADF']);

/** Brings FILES and FOLDERS (absolute) to the medium, contents before names. What is gone by now needs no syncing. */
export async function syncToMedium(root: string, files: readonly string[], folders: readonly string[]): Promise<void> {
  const answer = files.length < manyFiles ? 'not-asked' : await syncFileSystem(root);
  if (answer !== 'done') {
    for (let start = 0; start < files.length; start += atOnce) {
      await Promise.all(files.slice(start, start + atOnce).map(syncFile));
    }
  }
  if (typeof answer === 'object') throw answer; // the file that it was about may say it only once
  for (const folder of folders) await syncOne(folder, 'r', nothingToSync);
}

/** BusyBox's `sync` has no such option. */
const notItsWord = /option|usage|busybox/i;

/**
 * syncfs(2) by way of coreutils `sync --file-system`; since Linux 5.8 it reports failed writes, and each only once. Answers with why it
 * failed, which is then told unless file by file names the one that fails; `not-asked` where there is no such program.
 */
async function syncFileSystem(root: string): Promise<'done' | 'not-asked' | Error> {
  if (process.platform !== 'linux') return 'not-asked';
  try {
    await runProgram('sync', ['--file-system', '--', root]);
    return 'done';
  } catch (error) {
    const saysNo = error instanceof Error && 'code' in error && error.code === 1 && !notItsWord.test(error.message);
    return saysNo ? Object.assign(new Error(error.message, { cause: error }), { code: 'EIO' }) : 'not-asked';
  }
}

/** Windows flushes only what was opened for writing. */
export const syncFile = (path: string): Promise<void> =>
  syncOne(path, process.platform === 'win32' ? 'r+' : 'r', new Set());

async function syncOne(path: string, flags: string, ignored: ReadonlySet<string>): Promise<void> {
  try {
    const handle = await open(path, flags);
    try {
      await handle.sync();
    } finally {
      await handle.close();
    }
  } catch (error) {
    const errno = errnoOf(error) ?? '';
    if (errno !== 'ENOENT' && !ignored.has(errno)) throw error;
  }
}
