import { open } from 'node:fs/promises';
import { join, resolve } from 'node:path';
import { systemWordOf, ToolError } from '../../core/model/tool-error.ts';
import type { ExportResult } from '../../core/shelf/check-shelf.ts';
import type { ShelvedPackage } from '../../core/shelf/shelf-record.ts';
import { type ContentDigest, readWhole, writeAll } from '../files/copy-file.ts';
import { makeFolders, moveInto, removeFile, removeTree } from '../files/durable-files.ts';
import { addPackage } from './add-package.ts';
import { clearLeftovers, findLeftovers, listPackages } from './list-packages.ts';
import { receiveFile } from './receive-file.ts';
import type { Shelf } from './shelf.ts';
import { findShelf, makeShelf, newTag, noShelf, type ShelfPlace, shelfLayout, toShelfError } from './shelf-folder.ts';

interface OpenedShelf {
  readonly shelf: Shelf;
  /** It was not there before. */
  readonly made: boolean;
}

/**
 * Opens a shelf; with `make` a missing one is made. Without, the user's own shelf is empty until something is added,
 * and a named one that is not there throws ToolError `shelf/not-found`. Throws `shelf/refused` for what is no shelf.
 */
export async function openShelf(place: ShelfPlace, options: { readonly make: boolean }): Promise<OpenedShelf> {
  const state = await findShelf(place.folder);
  const making = options.make && state !== 'shelf';
  if (making) await makeShelf(place);
  else if (state === 'none' && place.from !== 'user') throw noShelf(place.folder);
  return { shelf: fileShelf(place.folder), made: making };
}

const fileShelf = (place: string): Shelf => ({
  place,
  list: () => listPackages(place),
  async beginAdd(name) {
    await clearLeftovers(place);
    return await addPackage(place, name);
  },
  async receive(name, delivery) {
    await clearLeftovers(place);
    return await receiveFile(place, name, delivery);
  },
  remove: (id) => removePackage(place, id),
  async digest({ path }, heard, signal) {
    try {
      return await readWhole(path, (chunk) => heard(chunk.byteLength), signal);
    } catch (cause) {
      throw signal.aborted ? cause : toShelfError(cause, 'read', path);
    }
  },
  export: exportPackage,
  leftovers: () => findLeftovers(place),
});

/** One rename takes package and record out of sight; what follows is only the deleting of bytes. */
async function removePackage(place: string, id: string): Promise<boolean> {
  const from = join(place, shelfLayout.packages, id);
  const to = join(place, shelfLayout.removed, id);
  try {
    await makeFolders(join(place, shelfLayout.removed));
    await moveInto(from, to);
  } catch (cause) {
    if (systemWordOf(cause) === 'ENOENT') return false;
    throw toShelfError(cause, 'write', from);
  }
  await removeTree(to).catch(() => {});
  return true;
}

/** Copies under a temporary name, flushes, reads back, compares, and only then gives the copy its name. */
async function exportPackage(
  { path, record }: ShelvedPackage,
  folder: string,
  signal: AbortSignal,
): Promise<ExportResult> {
  const to = join(resolve(folder), record.name);
  const there = await whatIsThere(to, signal);
  if (there !== undefined) return { to, state: there.sha256 === record.sha256 ? 'there' : 'taken' };
  const temporary = `${to}.${newTag()}.unfinished`;
  try {
    const source = await copy(path, temporary, signal);
    expectSame(source, record.sha256, path);
    const written = await readWhole(temporary, () => {}, signal);
    expectSame(written, record.sha256, temporary);
    if ((await whatIsThere(to, signal)) !== undefined) return { to, state: 'taken' };
    await moveInto(temporary, to);
    return { to, state: 'copied' };
  } catch (cause) {
    throw signal.aborted ? cause : toShelfError(cause, 'write', to);
  } finally {
    await removeFile(temporary).catch(() => {});
  }
}

async function copy(from: string, to: string, signal: AbortSignal): Promise<ContentDigest> {
  const file = await open(to, 'wx');
  try {
    let position = 0;
    const digest = await readWhole(
      from,
      async (chunk) => {
        await writeAll(file, chunk, position);
        position += chunk.byteLength;
      },
      signal,
    ).catch((cause) => {
      throw signal.aborted ? cause : toShelfError(cause, 'read', from);
    });
    await file.sync();
    return digest;
  } finally {
    await file.close();
  }
}

async function whatIsThere(path: string, signal: AbortSignal): Promise<ContentDigest | undefined> {
  try {
    return await readWhole(path, () => {}, signal);
  } catch (cause) {
    if (systemWordOf(cause) === 'ENOENT') return undefined;
    throw signal.aborted ? cause : toShelfError(cause, 'read', path);
  }
}

function expectSame({ sha256 }: ContentDigest, expected: string, path: string): void {
  if (sha256 === expected) return;
  throw new ToolError(
    'shelf/content-changed',
    path,
    `${path} is not what was recorded: SHA-256 ${sha256} instead of ${expected}.`,
    'Nothing was copied. Run stickwright shelf check, and add the package again from a fresh download.',
  );
}
