import { type Dirent, lstatSync, type Stats } from 'node:fs';
import { opendir } from 'node:fs/promises';
import { join } from 'node:path';
import { setImmediate as yieldToLoop } from 'node:timers/promises';
import type { StickEntry } from '../../../core/model/stick-facts.ts';
import { errnoOf, mostEntries, tooManyEntries } from '../os-error.ts';
import type { IsMount } from './own-file-system.ts';

const atOnce = 256;

/**
 * Folders before what is in them, each in the directory's own order (readdir would sort). A link counts as a file and is not
 * followed; what cannot be opened by its name is named, and no more. What is mounted inside the stick is listed by its name alone. A folder of the system that this account may not open
 * (`System Volume Information`) is listed without what is in it.
 */
export async function listFolder(
  root: string,
  within: string,
  isMount: IsMount,
  most = mostEntries,
): Promise<readonly StickEntry[]> {
  const entries: StickEntry[] = [];
  const visit = async (folder: string): Promise<void> => {
    for (const entry of await readFolder(root, folder, isMount, most)) {
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
  most: number,
): Promise<readonly StickEntry[]> {
  const rows = await readRows(join(root, folder), folder !== '', most);
  const entries: StickEntry[] = [];
  for (const [index, row] of rows.entries()) {
    entries.push(toEntry(root, folder, row, isMount));
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
    if (!mayBeForbidden || !['EACCES', 'EPERM'].includes(errnoOf(error) ?? '')) throw error;
  }
  return rows;
}

/** What has just been read of the folder is in the system's memory: asking another thread would cost ten times the answer. */
function toEntry(root: string, folder: string, row: Dirent, isMount: IsMount): StickEntry {
  const path = folder === '' ? row.name : `${folder}/${row.name}`;
  let seen: Stats | undefined;
  const stat = (): Stats => {
    seen ??= lstatSync(join(root, path)); // some drivers leave the kind out of the row
    return seen;
  };
  // What is no UTF-8 comes with U+FFFD in it, and nothing lies under the name that this makes; or it is really spelled with one.
  if (row.name.includes('\ufffd') && lstatSync(join(root, path), { throwIfNoEntry: false }) === undefined)
    return { path, kind: row.isDirectory() ? 'folder' : 'file', bytes: 0, odd: 'name' };
  if (isMount(path, stat)) return { path, kind: row.isDirectory() ? 'folder' : 'file', bytes: 0, isMount: true };
  if (row.isDirectory()) return { path, kind: 'folder', bytes: 0 };
  const found = stat();
  if (found.isDirectory()) return { path, kind: 'folder', bytes: 0 };
  const entry: StickEntry = { path, kind: 'file', bytes: found.size };
  return found.isFile() ? entry : { ...entry, odd: found.isSymbolicLink() ? 'link' : 'special' };
}
