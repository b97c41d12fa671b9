import { closeSync, constants, fstatSync, openSync, readFileSync, type Stats, statSync } from 'node:fs';
import { type FileHandle, open, stat } from 'node:fs/promises';
import { systemWordOf, ToolError } from '../../core/model/tool-error.ts';
import { openUnlessHeld } from './durable-files.ts';

/** Absent on Windows, where no pipe lies in a folder. */
const noWait = (constants as { readonly O_NONBLOCK?: number }).O_NONBLOCK ?? 0;
const flags = constants.O_RDONLY | noWait;

/**
 * The one way to open a file on the desk for reading (archives, lists, records, keys, settings): a named pipe would
 * make the open wait for ever, a device may never end or act on being opened. A link to a regular file is followed, as
 * people link archives; on a stick nothing is opened by this. Throws ToolError `file/unreadable` for anything but a
 * regular file, and what the system says.
 */
export async function openRegularFile(path: string): Promise<FileHandle> {
  expectRegular(path, await stat(path)); // opening a device can already do something
  const file = await openUnlessHeld(() => open(path, flags));
  try {
    expectRegular(path, await file.stat()); // what was opened need not be what was looked at
    return file;
  } catch (error) {
    await file.close();
    throw error;
  }
}

/** All of a small file. Throws as `openRegularFile` does, and `file/unreadable` where it has more than MOST BYTES. */
export async function readRegularFile(path: string, mostBytes: number): Promise<Buffer> {
  const file = await openRegularFile(path);
  try {
    expectWithin(path, await file.stat(), mostBytes);
    return await file.readFile();
  } finally {
    await file.close();
  }
}

/** The same at once: a file on a local disk is there sooner than another thread could be asked. */
export function readRegularFileSync(path: string, mostBytes: number): Buffer {
  expectRegular(path, statSync(path));
  const file = openSync(path, flags);
  try {
    const stats = fstatSync(file);
    expectRegular(path, stats);
    expectWithin(path, stats, mostBytes);
    return readFileSync(file);
  } finally {
    closeSync(file);
  }
}

function expectRegular(path: string, stats: Stats): void {
  if (stats.isFile()) return;
  const todo = stats.isDirectory()
    ? 'Name the file inside it.'
    : 'Nothing was read from it. Put the file itself there, or take this away if nobody needs it.';
  throw new ToolError('file/unreadable', path, `${path} is ${kindOf(stats)}, and a file is expected there.`, todo);
}

function kindOf(stats: Stats): string {
  if (stats.isDirectory()) return 'a folder';
  if (stats.isFIFO()) return 'a named pipe';
  if (stats.isSocket()) return 'a socket';
  return 'a device';
}

function expectWithin(path: string, { size }: Stats, mostBytes: number): void {
  if (size <= mostBytes) return;
  throw new ToolError(
    'file/unreadable',
    path,
    `${path} has ${size} bytes; what is expected there has at most ${mostBytes}.`,
    'It is probably not the file that was meant: look at its name and its folder.',
  );
}

/**
 * As `readRegularFile`, where whatever keeps it from being read is a ToolError `file/unreadable` and TODO what to do
 * about it.
 */
export const readNamedFile = (path: string, most: number, todo: string): Promise<Buffer> =>
  readRegularFile(path, most).catch((cause) => {
    if (cause instanceof ToolError) throw cause;
    throw new ToolError('file/unreadable', path, `${path} cannot be read.`, todo, cause);
  });

/** Whatever a person types or copies has less. */
const mostBytes = 16 * 2 ** 20;

/**
 * A small text file that a person named, as UTF-8. Throws ToolError `file/not-found`, `file/not-permitted`,
 * `file/unreadable`.
 */
export async function readTextFile(path: string): Promise<string> {
  try {
    return (await readRegularFile(path, mostBytes)).toString('utf8');
  } catch (cause) {
    if (cause instanceof ToolError) throw cause;
    const code = systemWordOf(cause);
    if (code === 'ENOENT' || code === 'ENOTDIR') {
      throw new ToolError('file/not-found', path, `There is no file ${path}.`, 'Check the name and the folder.', cause);
    }
    if (code === 'EACCES' || code === 'EPERM') {
      throw new ToolError(
        'file/not-permitted',
        path,
        `You may not read ${path}.`,
        'Ask whoever owns it for the right to read it, or for a copy.',
        cause,
      );
    }
    throw new ToolError(
      'file/unreadable',
      path,
      `${path} cannot be read.`,
      'The disk it lies on may be failing, or not be connected: get the file from another place.',
      cause,
    );
  }
}
