import { closeSync, constants, fsyncSync, openSync } from 'node:fs';
import { lstat, mkdir, open, readdir, rename, rm } from 'node:fs/promises';
import { dirname, join, resolve } from 'node:path';
import { setTimeout as wait } from 'node:timers/promises';
import { systemWordOf } from '../../core/model/tool-error.ts';

/*
 * The desk's own files. When one of these returns, what it did is on the medium: the power may go at that moment.
 * Whoever says that something was kept, made or moved at the desk did it with these;
 * test/architecture/kept-files.test.ts holds that.
 */

/** Writes a new small file. Its name is on the medium when it has been moved, or its folder synced. */
export async function writeDurably(path: string, content: string | Uint8Array, mode = 0o666): Promise<void> {
  const file = await open(path, 'wx', mode);
  try {
    await file.writeFile(content);
    await file.sync();
  } finally {
    await file.close();
  }
}

/** As `mkdir -p`. */
export async function makeFolders(path: string, mode?: number): Promise<void> {
  const first = await mkdir(path, { recursive: true, ...(mode === undefined ? {} : { mode }) });
  if (first === undefined) return;
  for (let made = resolve(path); made.length >= resolve(first).length; made = dirname(made))
    await syncFolder(dirname(made));
}

/** Together 10 s: a scanner reads a fresh file of some megabytes from a slow stick in that time. */
const pausesMs: readonly number[] = [50, 100, 200, 400, 800, 1200, 1600, 1850, 1900, 1900];
export const patienceSeconds = pausesMs.reduce((sum, pause) => sum + pause, 0) / 1000;
/** What is said of the desk's own files where that was not enough. */
export const heldAtDesk = {
  because: `another program holds it, a virus scanner most likely, and did not let go within ${patienceSeconds} s`,
  todo: 'Wait a moment, close what shows the folder, then run the same command again.',
} as const;
/** ERROR_SHARING_VIOLATION, ERROR_ACCESS_DENIED (libuv src/win/error.c). */
export const heldWords: ReadonlySet<string> = new Set(['EBUSY', 'EPERM', 'EACCES']);
const heldOrLeft: ReadonlySet<string> = new Set([...heldWords, 'ENOTEMPTY']);
/** To open something, access is denied for other reasons too: a folder, a right that is missing. */
const heldToOpen: ReadonlySet<string> = new Set(['EBUSY']);

/**
 * Moves or removes a name by WORK. On Windows a scanner or an indexer may hold a fresh file for a moment and let it be
 * neither moved nor removed, and a removed one stays in its folder until it is let go of (ENOTEMPTY): then it is tried
 * again, for `patienceSeconds` at most. Throws what was said last.
 */
export async function unlessHeld<Answer>(
  work: () => Promise<Answer>,
  words: ReadonlySet<string> = heldOrLeft,
  platform: NodeJS.Platform = process.platform,
  pause: (ms: number) => Promise<unknown> = wait,
): Promise<Answer> {
  for (const ms of platform === 'win32' ? pausesMs : []) {
    try {
      return await work();
    } catch (cause) {
      if (!words.has(systemWordOf(cause) ?? '')) throw cause;
      await pause(ms);
    }
  }
  return work();
}

/** Opens by WORK what others may hold for themselves alone for a moment. */
export const openUnlessHeld = <Answer>(work: () => Promise<Answer>): Promise<Answer> => unlessHeld(work, heldToOpen);

/** Takes a file away; it need not be there. */
export const removeFile = (path: string): Promise<void> => unlessHeld(() => rm(path, { force: true }));

/** As `removeFile`, for a folder with all in it. */
export const removeTree = (path: string): Promise<void> => unlessHeld(() => rm(path, { recursive: true, force: true }));

/** Renames a file, or a folder with all in it. */
export async function moveInto(from: string, to: string): Promise<void> {
  await unlessHeld(() => rename(from, to));
  // The desk's disk, or a shelf, may be a FAT volume too: see `syncMoved`. What another desk took away meanwhile needs
  // none of it.
  const found = await lstat(to).catch(() => undefined);
  if (found?.isDirectory()) {
    const below = await pathsBelow(to).catch(() => ({ files: [], folders: [] }));
    await forEachPath(below.files, syncMoved);
    for (const folder of [to, ...below.folders]) await syncFolder(folder);
  } else await syncMoved(to);
  for (const folder of new Set([dirname(resolve(to)), dirname(resolve(from))])) await syncFolder(folder);
}

const atOnce = 4;

/** What a driver that has nothing to do answers to fsync; what is gone by now; a link; a pipe that nobody reads. */
const nothingToSync = new Set(['EINVAL', 'EISDIR', 'ENOTSUP', 'ENOSYS', 'EBADF', 'ENOENT', 'ELOOP', 'ENXIO']);
/** For folders also: Windows flushes none, and what this account may not open it has not written. */
const folderRefusals = new Set([...nothingToSync, 'EPERM', 'EACCES']);
/**
 * As for any file that another program holds, or that is marked read-only: Windows flushes only what is opened for
 * writing.
 */
const refusals = new Set(['EPERM', 'EACCES', 'EBUSY']);

const isWindows = process.platform === 'win32';
/** A link is not followed, and a pipe does not hold us up. Absent on Windows. */
const { O_NOFOLLOW: noFollow = 0, O_NONBLOCK: noWait = 0 } = constants as Partial<typeof constants>;
const readFlags = constants.O_RDONLY | noFollow | noWait;

/** Brings one file's bytes, its size and its place to the medium, under the name that it has now. */
export const syncFile = (path: string): Promise<void> =>
  sync(path, isWindows ? constants.O_RDWR : readFlags, nothingToSync);

/** Brings a folder's names to the medium, and its own entry, where the system can. */
export const syncFolder = (path: string): Promise<void> => sync(path, readFlags, folderRefusals);

/** As `syncFolder`, in this thread; and the folder that it lies in, as it may be new. */
export function syncFolderAtOnce(path: string): void {
  for (const folder of [path, dirname(path)]) {
    try {
      const handle = openSync(folder, readFlags);
      try {
        fsyncSync(handle);
      } finally {
        closeSync(handle);
      }
    } catch (error) {
      if (!folderRefusals.has(systemWordOf(error) ?? '')) throw error;
    }
  }
}

/**
 * As `syncFile` for what was only moved. Linux's vfat writes a moved file's entry anew, of 0 bytes, and fills it when
 * the file itself is synced; the drivers of Windows and macOS move the entry whole (Microsoft's fastfat sample and the
 * BSDs' msdosfs; from memory), so that there a refusal loses nothing. Resolves to false where only the whole file
 * system could be synced.
 */
export async function syncMoved(path: string): Promise<boolean> {
  try {
    await syncFile(path);
    return true;
  } catch (error) {
    if (!refusals.has(systemWordOf(error) ?? '')) throw error;
    return process.platform !== 'linux';
  }
}

/** All files and folders of PATH's own file system below it, folders before what is in them; links are neither. */
export async function pathsBelow(path: string): Promise<{ readonly files: string[]; readonly folders: string[] }> {
  const found = { files: [] as string[], folders: [] as string[] };
  const { dev } = await lstat(path);
  const visit = async (folder: string): Promise<void> => {
    for (const row of await readdir(folder, { withFileTypes: true })) {
      const at = join(folder, row.name);
      if (row.isFile()) found.files.push(at);
      if (!row.isDirectory() || (await lstat(at)).dev !== dev) continue;
      found.folders.push(at);
      await visit(at);
    }
  };
  await visit(path);
  return found;
}

/** Calls SYNC for every path, a few at once. */
export async function forEachPath<Answer>(
  paths: readonly string[],
  sync: (path: string) => Promise<Answer>,
): Promise<readonly Answer[]> {
  const answers: Answer[] = [];
  for (let start = 0; start < paths.length; start += atOnce)
    answers.push(...(await Promise.all(paths.slice(start, start + atOnce).map(sync))));
  return answers;
}

async function sync(path: string, flags: number, ignored: ReadonlySet<string>): Promise<void> {
  try {
    const handle = await openUnlessHeld(() => open(path, flags));
    try {
      await handle.sync();
    } finally {
      await handle.close();
    }
  } catch (error) {
    if (!ignored.has(systemWordOf(error) ?? '')) throw error;
  }
}
