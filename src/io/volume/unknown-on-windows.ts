import { closeSync, openSync, readSync, type Stats, statSync } from 'node:fs';
import { win32 } from 'node:path';
import { systemWordOf, ToolError, type ToolErrorCode } from '../../core/model/tool-error.ts';
import { recogniseVolume, volumeHeadBytes } from '../../core/volume-format/boot-sector.ts';
import { stickGone } from './volume.ts';

/** How Windows answers, asked once more about the whole volume; replaced in tests, since Wine has no such media. */
export interface WindowsLook {
  /** The system's word where the root cannot be looked at; undefined where it can. */
  readonly root: (root: string) => string | undefined;
  /** The volume's first sectors, or the system's word where they cannot be read. */
  readonly head: (device: string) => Uint8Array | string;
}

const windowsLook: WindowsLook = {
  root: (root) => wordOf(() => void statSync(root)),
  head: (device) => {
    const head = new Uint8Array(volumeHeadBytes);
    const word = wordOf(() => {
      const fd = openSync(device, 'r');
      try {
        readSync(fd, head, 0, head.length, 0);
      } finally {
        closeSync(fd);
      }
    });
    return word ?? head;
  },
};

function wordOf(work: () => void): string | undefined {
  try {
    work();
    return undefined;
  } catch (error) {
    const word = systemWordOf(error);
    if (word === undefined) throw error;
    return word;
  }
}

/** The letter of a path on Windows in any of its forms; undefined where none is named. */
export const letterIn = (path: string): string | undefined =>
  /^(?:\\\\[.?]\\)?([a-z]):/i.exec(path)?.[1]?.toUpperCase();

type Meaning = readonly [code: ToolErrorCode, message: string, todo: string];

const again = 'run the same command again: it goes on where it stopped.';
const locked: Meaning = [
  'stick/locked',
  'it is locked by encryption (BitLocker); no panel could read it either',
  'Take a stick without encryption. Or unlock this one, save what you need, and format it.',
];
const notReady: Meaning = [
  'stick/not-ready',
  'Windows shows the letter, but no medium answers behind it: it was ejected, it is not ready yet, or it is locked',
  `Pull the stick, wait a moment, plug it in again, and ${again} If Explorer asks for a password there, the stick is encrypted: take another one.`,
];
const damaged: Meaning = [
  'stick/damaged',
  'Windows cannot make sense of what it reads there: tables or folders are damaged, as a pull in the middle of a write leaves them',
  `Let Windows check the stick (its properties, Tools, Check; or chkdsk with its letter and /f), then ${again} Or save what you need and format it.`,
];
const unrecognised: Meaning = [
  'stick/unsupported-file-system',
  'Windows finds no file system that it knows on it',
  'Save what you need from it where it can still be read, then format it. Panels read FAT32 (common practice, no source).',
];
const untold: Meaning = [
  'stick/not-ready',
  'Windows does not let it be read and does not say why: it is not ready, locked by encryption, or damaged',
  `Open the letter in Explorer: it says which. Pull the stick, plug it in again, and ${again}`,
];

/**
 * What UNKNOWN means, said of something at PATH. libuv has no word for what Windows says of a medium that went away or
 * cannot be used (libuv src/win/error.c: ERROR_NOT_READY, ERROR_DEV_NOT_EXIST, ERROR_DEVICE_NOT_CONNECTED,
 * ERROR_MEDIA_CHANGED, ERROR_NO_MEDIA_IN_DRIVE, ERROR_FILE_CORRUPT, ERROR_UNRECOGNIZED_VOLUME, FVE_E_LOCKED_VOLUME are
 * not in its table), and Node hands on no number. So the volume itself is asked. Undefined where no letter is named.
 */
export function unknownOnWindows(
  path: string,
  subject: string,
  cause: unknown,
  look: WindowsLook = windowsLook,
): ToolError | undefined {
  const letter = letterIn(path);
  if (letter === undefined) return undefined;
  const word = look.root(`${letter}:\\`);
  if (word === 'ENOENT') return stickGone(subject);
  const [code, message, todo] = word === undefined ? damaged : meaningOfHead(look.head(`\\\\.\\${letter}:`));
  return new ToolError(code, subject, `${message} (UNKNOWN)`, todo, cause);
}

/** The root does not answer: what the sectors say, or that not even they can be read. */
function meaningOfHead(head: Uint8Array | string): Meaning {
  if (typeof head === 'string') return ['EACCES', 'EPERM', 'ENOTSUP'].includes(head) ? untold : notReady;
  const { fileSystem } = recogniseVolume(head);
  if (fileSystem === 'bitlocker') return locked;
  return fileSystem === 'unknown' ? unrecognised : damaged;
}

/**
 * Why the root at ROOT is not the one that was opened (BEFORE) any more. The letter stays with the reader or the port:
 * whatever is plugged in next has it, and Windows tells volumes apart by their serial number (`dev`).
 */
export function notTheSameRoot(root: string, before: Stats, target: string): ToolError {
  try {
    const now = statSync(root);
    if (now.dev === before.dev && now.ino === before.ino) return stickGone(target); // and back by now
    return new ToolError(
      'stick/swapped',
      target,
      `another volume is there under ${win32.parse(root).root.slice(0, 2)} than the one that was opened`,
      `Plug in the stick that this was begun with, and ${again}`,
    );
  } catch (error) {
    const isUnknown = systemWordOf(error) === 'UNKNOWN';
    return (isUnknown ? unknownOnWindows(root, target, error) : undefined) ?? stickGone(target);
  }
}
