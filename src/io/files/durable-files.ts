import { lstat, mkdir, open, rename } from 'node:fs/promises';
import { dirname, resolve } from 'node:path';
import { setTimeout as wait } from 'node:timers/promises';
import { forEachPath, pathsBelow, syncFolder, syncMoved } from './sync-paths.ts';

/*
 * The desk's own files. When one of these returns, what it did is on the medium: the power may go at that moment. Whoever says
 * that something was kept, made or moved at the desk did it with these; test/architecture/kept-files.test.ts holds that.
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

const triesOnWindows = 20;

/** Renames a file, or a folder with all in it; on Windows a scanner or an indexer may hold a fresh file for a moment, and then it is tried again. */
export async function moveInto(from: string, to: string): Promise<void> {
  for (let left = process.platform === 'win32' ? triesOnWindows : 1; ; left--) {
    try {
      await rename(from, to);
      break;
    } catch (cause) {
      const { code = '' } = cause as NodeJS.ErrnoException;
      if (left <= 1 || !['EPERM', 'EACCES', 'EBUSY'].includes(code)) throw cause;
      await wait(100);
    }
  }
  // The desk's disk, or a shelf, may be a FAT volume too: see `syncMoved`. What another desk took away meanwhile needs none of it.
  const found = await lstat(to).catch(() => undefined);
  if (found?.isDirectory()) {
    const below = await pathsBelow(to).catch(() => ({ files: [], folders: [] }));
    await forEachPath(below.files, syncMoved);
    for (const folder of [to, ...below.folders]) await syncFolder(folder);
  } else await syncMoved(to);
  for (const folder of new Set([dirname(resolve(to)), dirname(resolve(from))])) await syncFolder(folder);
}
