import { randomBytes } from 'node:crypto';
import { mkdir, readdir } from 'node:fs/promises';
import { dirname, join, resolve } from 'node:path';
import envPaths from 'env-paths';
import { systemWordOf, ToolError } from '../../core/model/tool-error.ts';
import { heldAtDesk, makeFolders, moveInto, removeFile, syncFolder, writeDurably } from '../files/durable-files.ts';
import { readRegularFile } from '../files/regular-file.ts';

/** What lies in a shelf's folder. */
export const shelfLayout = {
  marker: 'shelf.json',
  /** One folder a package, `<SHA-256>-<random>`: the file under its own name, and its record. */
  packages: 'packages',
  /** One folder for each package that a desk is adding just now. */
  incoming: 'incoming',
  /** Packages that were removed and whose bytes are being deleted. */
  removed: 'removed',
} as const;

const largestMarkerBytes = 65_536;
const markerSchema = 'stickwright/shelf/1';
const marker = {
  schema: markerSchema,
  about:
    'Packages for wall-mounted panels, kept by stickwright. Look with: stickwright shelf list --shelf and this folder. Do not change anything here by hand.',
};

export const newTag = (): string => randomBytes(6).toString('hex');

/**
 * Looks whether a folder is a shelf: `none` where there is nothing yet. Throws ToolError `shelf/refused` where it holds
 * something else or a shelf of a later version.
 */
export async function findShelf(folder: string): Promise<'shelf' | 'empty' | 'none'> {
  const path = join(folder, shelfLayout.marker);
  try {
    expectKnown((await readRegularFile(path, largestMarkerBytes)).toString('utf8'), path);
    return 'shelf';
  } catch (cause) {
    if (systemWordOf(cause) === 'ENOTDIR') throw refused(folder, `${folder} is a file, not a folder.`);
    if (systemWordOf(cause) !== 'ENOENT') throw toShelfError(cause, 'read', path);
  }
  const names = await readdir(folder).catch((cause) => {
    if (systemWordOf(cause) === 'ENOENT') return undefined;
    throw toShelfError(cause, 'read', folder);
  });
  if (names === undefined) return 'none';
  const others = names.filter((name) => !name.startsWith(`${shelfLayout.marker}.`));
  // Another desk may have made the shelf since the first look.
  if (others.includes(shelfLayout.marker)) return 'shelf';
  if (others.length > 0) throw refused(folder, `${folder} holds other things and is no shelf.`);
  return 'empty';
}

function expectKnown(text: string, path: string): void {
  let schema: unknown;
  try {
    schema = (JSON.parse(text) as { schema?: unknown }).schema;
  } catch {
    throw refused(path, `${path} is damaged.`);
  }
  if (schema === markerSchema) return;
  throw refused(path, `This shelf has the form ${String(schema)}; this version of stickwright knows ${markerSchema}.`);
}

const refused = (subject: string, message: string): ToolError =>
  new ToolError(
    'shelf/refused',
    subject,
    message,
    'Name the folder of a shelf, or a new or empty folder, with --shelf or STICKWRIGHT_SHELF. Nothing in it was changed.',
  );

/** Throws ToolError `shelf/not-found` where a named shelf is not there: a shared folder may not be connected. */
export const noShelf = (folder: string): ToolError =>
  new ToolError(
    'shelf/not-found',
    folder,
    `There is no shelf at ${folder}.`,
    'Check the path, and whether the shared folder is connected. The first stickwright shelf add makes a new shelf.',
  );

/**
 * Makes the folder a shelf. Of a path that a person named only the last part is made: what is missing above it is
 * rather a shared folder that is not connected.
 */
export async function makeShelf({ folder, from }: ShelfPlace): Promise<void> {
  try {
    if (from === 'user') await makeFolders(folder);
    else await mkdir(folder);
  } catch (cause) {
    if (systemWordOf(cause) === 'ENOENT') throw noShelf(folder);
    if (systemWordOf(cause) !== 'EEXIST') throw toShelfError(cause, 'write', folder);
  }
  const path = join(folder, shelfLayout.marker);
  const temporary = `${path}.${newTag()}`;
  try {
    await writeDurably(temporary, `${JSON.stringify(marker, null, 2)}\n`);
    await moveInto(temporary, path);
    await syncFolder(dirname(resolve(folder)));
  } catch (cause) {
    await removeFile(temporary);
    // Two desks that make the same shelf write the same marker; the other one's is as good.
    if ((await findShelf(folder)) !== 'shelf') throw toShelfError(cause, 'write', path);
  }
}

const full =
  'Free some space where the shelf lies, or name another place with --shelf, then run the same command again.';
const again = 'Check the connection to the shelf and run the same command again; nothing on the shelf was changed.';

/** What the operating system said while the shelf was written or read, as a ToolError; a ToolError stays what it is. */
export function toShelfError(cause: unknown, doing: 'read' | 'write', path: string): unknown {
  const code = systemWordOf(cause);
  if (cause instanceof ToolError || code === undefined) return cause;
  if (code === 'EACCES' || code === 'EPERM' || code === 'EROFS') {
    const todo = 'Ask whoever owns the folder for the right to use it, or name another place with --shelf.';
    return new ToolError('file/not-permitted', path, `${path} may not be ${verbs[doing]} (${code}).`, todo, cause);
  }
  if (doing === 'read') {
    if (code === 'ENOENT') {
      const todo = 'Another desk may have removed it meanwhile: stickwright shelf list.';
      return new ToolError('file/not-found', path, `There is no ${path}.`, todo, cause);
    }
    return new ToolError('file/unreadable', path, `${path} cannot be read (${code}).`, again, cause);
  }
  if (code === 'EBUSY') {
    const message = `${path} cannot be written (EBUSY): ${heldAtDesk.because}.`;
    return new ToolError('shelf/write-failed', path, message, heldAtDesk.todo, cause);
  }
  const isFull = code === 'ENOSPC' || code === 'EDQUOT' || code === 'EFBIG';
  const message = isFull ? `There is no space left at ${path} (${code}).` : `${path} cannot be written (${code}).`;
  return new ToolError('shelf/write-failed', path, message, isFull ? full : again, cause);
}

const verbs = { read: 'read', write: 'written' };

export interface ShelfPlace {
  readonly folder: string;
  readonly from: 'named' | 'environment' | 'user';
}

/** The desk's own shelf: the XDG data folder, %LOCALAPPDATA%, ~/Library/Application Support. */
const userShelfFolder = (): string => join(envPaths('stickwright', { suffix: '' }).data, 'shelf');

/** Where the shelf is: as named, else STICKWRIGHT_SHELF, else the user's own. */
export function findShelfPlace(
  named: string | undefined,
  environment: Readonly<Record<string, string | undefined>>,
): ShelfPlace {
  if (named !== undefined) return { folder: resolve(named), from: 'named' };
  const listed = environment.STICKWRIGHT_SHELF ?? '';
  if (listed !== '') return { folder: resolve(listed), from: 'environment' };
  return { folder: userShelfFolder(), from: 'user' };
}
