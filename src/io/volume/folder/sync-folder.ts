import { lstat, lutimes } from 'node:fs/promises';
import { dirname, join } from 'node:path';
import { forEachPath, pathsBelow, syncFile, syncFolder, syncMoved } from '../../files/durable-files.ts';
import { runProgram } from '../../programs/run-program.ts';
import { errnoOf, stickFailed } from '../os-error.ts';

/** From here on one call for the whole file system is cheaper than one a file. */
const manyFiles = 24;

interface Changed {
  readonly made: readonly string[];
  readonly moved: readonly string[];
  /** Folders that were moved with all that is in them. */
  readonly movedFolders: readonly string[];
  /** Folders that were made, or that something was put into. */
  readonly filled: readonly string[];
  /** Folders that something was taken out of. */
  readonly emptied: readonly string[];
}

export interface SyncedFolder {
  readonly root: string;
  /** One call brings all that the system holds of it to the medium: Linux's own drivers, not programs behind FUSE. */
  readonly syncsWhole: boolean;
  /** The driver writes an entry anew when the file's times are set, to whatever: Linux's own for FAT and exFAT. */
  readonly rewritesEntries: boolean;
}

/**
 * Brings CHANGED (absolute paths) to the medium: contents before names, and a new name before the old one goes, so that
 * a cut meanwhile leaves what was moved under one of its names or both. What is gone by now needs no syncing.
 */
async function syncChanged(volume: SyncedFolder, changed: Changed): Promise<void> {
  const { made, moved, movedFolders, filled, emptied } = await withContents(changed);
  const isMany = made.length + moved.length >= manyFiles;
  if (!isMany || !(await syncFileSystem(volume, () => syncFiles(volume, made, moved))))
    await syncFiles(volume, made, moved);
  for (const folder of new Set([...movedFolders, ...filled.toSorted(byDepth), ...emptied.toSorted(byDepth)]))
    await syncFolder(folder);
}

async function syncFiles(volume: SyncedFolder, made: readonly string[], moved: readonly string[]): Promise<void> {
  await forEachPath(made, syncFile);
  const done = await forEachPath(moved, syncMoved);
  const refused = moved.find((_, at) => done[at] === false);
  if (refused !== undefined && !(await syncFileSystem(volume)))
    throw stickFailed('write', refused, 'this account may not open it, so that it cannot be brought to the medium');
}

/** A folder's own beginning is on the list of the folder it was made in (Linux's vfat): that one comes first. */
const byDepth = (a: string, b: string): number => a.length - b.length;

async function withContents(changed: Changed): Promise<Changed> {
  const [moved, movedFolders] = [[...changed.moved], [...changed.movedFolders]];
  for (const folder of changed.movedFolders) {
    const below = await pathsBelow(folder);
    moved.push(...below.files);
    movedFolders.push(...below.folders);
  }
  return { ...changed, moved, movedFolders };
}

/**
 * Brings to the medium whatever the system holds of the folder's file system, whoever wrote it. False where something
 * could not be: then only an eject does it.
 */
export async function syncEverything(volume: SyncedFolder): Promise<boolean> {
  if (volume.rewritesEntries) await rewriteEntries(volume.root);
  if (await syncFileSystem(volume)) {
    await syncFolder(volume.root); // unlike the call before, this one also empties the medium's own cache
    return true;
  }
  const { files, folders } = await pathsBelow(volume.root);
  const done = await forEachPath(files, syncMoved);
  for (const folder of [volume.root, ...folders]) await syncFolder(folder);
  return !done.includes(false);
}

/**
 * A write that failed is said once, to whoever asks first; then the driver forgets it, and goes on to show from its
 * memory the size and the place of a file whose entry never got to the medium (Linux 6.1, fs/fat/inode.c:
 * __fat_write_inode; tried with dm-flakey on vfat). To set the times that a file already has makes it write the entry
 * again, the same bytes, at the next sync.
 */
async function rewriteEntries(root: string): Promise<void> {
  const [{ files, folders }, own] = [await pathsBelow(root), await lstat(root)];
  await forEachPath([...folders, ...files], async (path) => {
    try {
      const { atime, mtime, dev } = await lstat(path);
      if (dev === own.dev) await lutimes(path, atime, mtime);
    } catch (error) {
      if (!notOurs.has(errnoOf(error) ?? '')) throw error;
    }
  });
}

/** What belongs to somebody else, on a mount that says so, was written by somebody else; what is gone needs nothing. */
const notOurs = new Set(['EPERM', 'EACCES', 'ENOENT']);

/** BusyBox's `sync` has no such option. */
const notItsWord = /option|usage|busybox/i;

/**
 * syncfs(2) by way of coreutils `sync --file-system`; since Linux 5.8 it reports failed writes, and each only once.
 * False where there is no such call. Throws why it failed, unless FILE BY FILE names the one that fails.
 */
async function syncFileSystem(
  { root, syncsWhole }: SyncedFolder,
  fileByFile: () => Promise<void> = async () => {},
): Promise<boolean> {
  if (!syncsWhole) return false;
  try {
    await runProgram('sync', ['--file-system', '--', root]);
    return true;
  } catch (error) {
    const saysNo = error instanceof Error && 'code' in error && error.code === 1 && !notItsWord.test(error.message);
    if (!saysNo) return false;
    await fileByFile();
    throw Object.assign(new Error(error.message, { cause: error }), { code: 'EIO' }); // the file may say it only once
  }
}

type Kind = 'made' | 'moved' | 'movedFolders' | 'filled' | 'emptied';
const kinds: readonly Kind[] = ['made', 'moved', 'movedFolders', 'filled', 'emptied'];

/** What was changed below a folder since it was last brought to the medium; all paths are absolute. */
export class ChangedPaths {
  #paths = emptyPaths();

  fileMade(path: string): void {
    this.#paths.made.add(path);
    this.#paths.filled.add(dirname(path));
  }

  folderMade(path: string): void {
    this.#paths.filled.add(path).add(dirname(path));
  }

  removed(path: string): void {
    for (const kind of kinds) this.#paths[kind].delete(path);
    this.#paths.emptied.add(dirname(path));
  }

  /**
   * Also one that was on the medium under its old name: the new name is another entry, which the driver may fill later.
   */
  fileMoved(from: string, to: string): void {
    this.#paths.moved.delete(from);
    this.#paths[this.#paths.made.delete(from) ? 'made' : 'moved'].add(to);
    this.#movedBetween(from, to);
  }

  /** What lies in it has moved with it. */
  folderMoved(from: string, to: string): void {
    for (const kind of kinds) {
      const set = this.#paths[kind];
      for (const path of [...set]) {
        if (path !== from && !path.startsWith(join(from, '/'))) continue;
        set.delete(path);
        set.add(to + path.slice(from.length));
      }
    }
    this.#paths.movedFolders.add(to);
    this.#movedBetween(from, to);
  }

  get isEmpty(): boolean {
    return kinds.every((kind) => this.#paths[kind].size === 0);
  }

  /** Brings one file's bytes to the medium, if they are not there yet. */
  async syncOne(path: string): Promise<void> {
    if (!this.#paths.made.has(path) && !this.#paths.moved.has(path)) return;
    await syncFile(path);
    this.#paths.made.delete(path);
    this.#paths.moved.delete(path);
  }

  /** Brings everything to the medium that is in here now; what changes meanwhile stays for the next time. */
  async syncAll(volume: SyncedFolder): Promise<void> {
    const now = this.#paths;
    this.#paths = emptyPaths();
    try {
      const { made, moved, movedFolders, filled, emptied } = now;
      await syncChanged(volume, {
        made: [...made],
        moved: [...moved],
        movedFolders: [...movedFolders],
        filled: [...filled],
        emptied: [...emptied],
      });
    } catch (error) {
      for (const kind of kinds) for (const path of now[kind]) this.#paths[kind].add(path);
      throw error;
    }
  }

  #movedBetween(from: string, to: string): void {
    this.#paths.filled.add(dirname(to));
    this.#paths.emptied.add(dirname(from));
  }
}

const emptyPaths = (): Readonly<Record<Kind, Set<string>>> => ({
  made: new Set(),
  moved: new Set(),
  movedFolders: new Set(),
  filled: new Set(),
  emptied: new Set(),
});
