import { rm } from 'node:fs/promises';
import { join } from 'node:path';
import { makeFolders, moveInto } from '../files/durable-files.ts';
import { addPackage } from './add-package.ts';
import { readWhole } from './copy-file.ts';
import { exportPackage } from './export-package.ts';
import { clearLeftovers, findLeftovers } from './find-leftovers.ts';
import type { ShelfPlace } from './find-shelf-place.ts';
import { listPackages } from './list-packages.ts';
import type { Shelf } from './shelf.ts';
import { codeOf, toShelfError } from './shelf-error.ts';
import { findShelf, makeShelf, noShelf, shelfLayout } from './shelf-folder.ts';

export interface OpenedShelf {
  readonly shelf: Shelf;
  /** It was not there before. */
  readonly made: boolean;
}

/**
 * Opens a shelf; with `make` a missing one is made. Without, the user's own shelf is empty until something is added, and
 * a named one that is not there throws ToolError `shelf/not-found`. Throws `shelf/refused` for what is no shelf.
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
    if (codeOf(cause) === 'ENOENT') return false;
    throw toShelfError(cause, 'write', from);
  }
  await rm(to, { recursive: true, force: true }).catch(() => {});
  return true;
}
