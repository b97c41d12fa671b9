import { type Dirent, lstatSync, readFileSync, type Stats } from 'node:fs';
import { opendir, readdir } from 'node:fs/promises';
import { join, relative, sep } from 'node:path';
import { setImmediate as yieldToLoop } from 'node:timers/promises';
import type { StickEntry } from '../../../core/model/stick-facts.ts';
import { ToolError } from '../../../core/model/tool-error.ts';
import { foldName } from '../../../core/volume-format/fat-name.ts';
import { parseMountInfo } from '../../drives/linux-mounts.ts';
import { errnoOf, mostEntries, notAsListed, tooManyEntries } from '../os-error.ts';

const atOnce = 256;

interface ListOptions {
  readonly most?: number;
  /** Files carry theirs. */
  readonly stamps?: boolean;
}

/**
 * Folders before what is in them, each in the directory's own order (readdir would sort). A link counts as a file and
 * is not followed; what cannot be opened by its name is named, and no more. What is mounted inside the stick is listed
 * by its name alone. A folder of the system that this account may not open (`System Volume Information`) is listed
 * without what is in it.
 */
export async function listFolder(
  root: string,
  within: string,
  isMount: IsMount,
  { most = mostEntries, stamps = false }: ListOptions = {},
): Promise<readonly StickEntry[]> {
  const entries: StickEntry[] = [];
  const visit = async (folder: string): Promise<void> => {
    for (const entry of await readFolder(root, folder, isMount, { most, stamps })) {
      entries.push(entry);
      if (entries.length > most) throw tooManyEntries(folder || '/');
      if (entry.kind === 'folder' && entry.isMount !== true && entry.odd === undefined) await visit(entry.path);
    }
  };
  await visit(within);
  return entries;
}

async function readFolder(
  root: string,
  folder: string,
  isMount: IsMount,
  { most, stamps }: Required<ListOptions>,
): Promise<readonly StickEntry[]> {
  const rows = await readRows(join(root, folder), folder !== '', most);
  const entries: StickEntry[] = [];
  for (const [index, row] of rows.entries()) {
    entries.push(toEntry(root, folder, row, isMount, stamps));
    if (index % atOnce === atOnce - 1) await yieldToLoop();
  }
  return entries;
}

async function readRows(path: string, mayBeForbidden: boolean, most: number): Promise<readonly Dirent[]> {
  const rows: Dirent[] = [];
  try {
    const folder = await opendir(path, { bufferSize: 256 });
    try {
      for (let row = folder.readSync(); row !== null; row = folder.readSync()) {
        rows.push(row);
        if (rows.length > most) throw tooManyEntries(path);
      }
    } finally {
      folder.closeSync();
    }
  } catch (error) {
    // On Windows an empty root without `.` and `..`, as FAT's are, is not read row by row (seen under Wine 8).
    if (process.platform === 'win32' && errnoOf(error) === 'EINVAL' && rows.length === 0)
      return await readdir(path, { withFileTypes: true });
    if (!mayBeForbidden || !['EACCES', 'EPERM'].includes(errnoOf(error) ?? '')) throw error;
  }
  return rows;
}

/**
 * What has just been read of the folder is in the system's memory: asking another thread would cost ten times the
 * answer.
 */
function toEntry(root: string, folder: string, row: Dirent, isMount: IsMount, stamps: boolean): StickEntry {
  const path = folder === '' ? row.name : `${folder}/${row.name}`;
  let seen: Stats | undefined;
  const stat = (): Stats => {
    seen ??= lstatSync(join(root, path)); // some drivers leave the kind out of the row
    return seen;
  };
  // What is no UTF-8 comes with U+FFFD in it, and nothing lies under the name that this makes; or it is really spelled
  // with one.
  if (row.name.includes('\ufffd') && lstatSync(join(root, path), { throwIfNoEntry: false }) === undefined)
    return { path, kind: row.isDirectory() ? 'folder' : 'file', bytes: 0, odd: 'name' };
  if (isMount(path, stat)) return { path, kind: row.isDirectory() ? 'folder' : 'file', bytes: 0, isMount: true };
  if (row.isDirectory()) return { path, kind: 'folder', bytes: 0 };
  const found = stat();
  if (found.isDirectory()) return { path, kind: 'folder', bytes: 0 };
  const stamp = stamps ? { stamp: `${found.birthtimeMs} ${found.mtimeMs}` } : {};
  const entry: StickEntry = { path, kind: 'file', bytes: found.size, ...stamp };
  return found.isFile() ? entry : { ...entry, odd: found.isSymbolicLink() ? 'link' : 'special' };
}

export type IsMount = (path: string, stat: () => Stats) => boolean;

/** Thousands of small files are read in a second, and to list the mounts takes longer than to read one. */
const momentMs = 20;

/**
 * Where the stick's own file system ends below a folder. Something else may be mounted inside it: another volume, or a
 * folder or a single file of any file system, also of the same one (a bind mount, which has the same device number).
 * Linux lists them all; elsewhere the device number tells other volumes apart, and on Windows a mounted volume and a
 * junction are links.
 */
export class OwnFileSystem {
  readonly #root: string;
  readonly #device: number;
  #listed: readonly string[] | undefined;
  #listedAt = Number.NEGATIVE_INFINITY;

  /** ROOT is absolute and free of links. */
  constructor(root: string, { dev }: Stats) {
    this.#root = root;
    this.#device = dev;
  }

  /**
   * Tells paths at or in which something else is mounted, as it is now; what STAT gives of a path is only asked for
   * where it is needed.
   */
  mounts(): IsMount {
    const listed = listMounts(this.#root);
    const mounted = (listed ?? []).map(fold);
    const isIn = (path: string): boolean => mounted.some((at) => path === at || path.startsWith(`${at}/`));
    return (path, stat) => (mounted.length > 0 && isIn(fold(path))) || this.#isForeign(stat(), listed !== undefined);
  }

  /**
   * Each folder on the way to PATH is a folder of the stick's own and not a link, and neither PATH nor, for a MOVED
   * folder, anything below it is a place at which something else is mounted. The system has them in memory, so asking
   * another thread would cost ten times the answer. Between this look and the use of the path lies a moment in which
   * another program could put a link or a mount there: Node offers nothing that opens relative to an open folder.
   */
  check(path: string, moved = false): void {
    this.#check(path, listMounts(this.#root), moved);
  }

  /** The same for a file that is only to be read, with a list of mounts that is at most a moment old. */
  checkToRead(path: string): void {
    if (performance.now() - this.#listedAt > momentMs) {
      this.#listed = listMounts(this.#root);
      this.#listedAt = performance.now();
    }
    this.#check(path, this.#listed, false);
  }

  #check(path: string, listed: readonly string[] | undefined, moved: boolean): void {
    const wanted = fold(path);
    for (const mount of listed ?? []) {
      const at = fold(mount);
      if (wanted === at || wanted.startsWith(`${at}/`) || (moved && at.startsWith(`${wanted}/`)))
        throw mountedAt(mount);
    }
    this.checkParents(path);
    const found = lstatSync(join(this.#root, path), { throwIfNoEntry: false });
    if (found !== undefined && this.#isForeign(found, listed !== undefined)) throw mountedAt(path);
  }

  checkParents(path: string): void {
    let at = '';
    for (const part of path.split('/').slice(0, -1)) {
      at = at === '' ? part : `${at}/${part}`;
      const stat = lstatSync(join(this.#root, at));
      if (stat.isSymbolicLink()) throw notAsListed(path, 'a link lies on the way to it, and links are not followed');
      if (!stat.isDirectory()) throw notAsListed(path, 'a file lies on the way to it');
      if (stat.dev !== this.#device) throw mountedAt(at);
    }
  }

  /**
   * A layered file system gives files, not folders, other numbers than its own (overlayfs), so files only count where
   * nothing else tells.
   */
  #isForeign(stat: Stats, isListed: boolean): boolean {
    if (process.platform === 'win32' && stat.isSymbolicLink()) return true;
    return stat.dev !== this.#device && (stat.isDirectory() || !isListed);
  }
}

/** Mount points below ROOT, relative to it; undefined where the system does not list them. */
function listMounts(root: string): readonly string[] | undefined {
  if (process.platform !== 'linux') return undefined;
  let text: string;
  try {
    text = readFileSync('/proc/self/mountinfo', 'utf8');
  } catch {
    return undefined;
  }
  // This is asked before every change, and hardly ever is there one: a look for the name, written as there
  // (proc_pid_mountinfo(5)).
  const written = root.replace(/[ \t\n\\]/g, (char) => `\\${char.charCodeAt(0).toString(8).padStart(3, '0')}`);
  if (!text.includes(` ${written}/`)) return [];
  return parseMountInfo(text)
    .map(({ mountPoint }) => mountPoint)
    .filter((point) => point.startsWith(`${root}/`))
    .map((point) => relative(root, point).split(sep).join('/'));
}

/** FAT, exFAT and NTFS compare names without regard to case, so a plan may spell one otherwise. */
const fold = (path: string): string => foldName(path.normalize('NFC'));

const mountedAt = (path: string): ToolError =>
  new ToolError(
    'stick/refused',
    path,
    `something else is mounted inside the stick, at ${path}, and nothing outside the stick is ever touched`,
    'Unmount it (on Linux: umount and that folder; on Windows: Disk Management, remove the drive path), then run the same command again.',
  );
