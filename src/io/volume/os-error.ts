import { systemWordOf, ToolError, type ToolErrorCode } from '../../core/model/tool-error.ts';
import { patienceSeconds } from '../files/durable-files.ts';
import { isGone } from './is-gone.ts';
import { unknownOnWindows } from './unknown-on-windows.ts';
import { stickGone } from './volume.ts';

interface Meaning {
  readonly code: ToolErrorCode;
  readonly message: string;
  readonly todo: string;
}

const gone: Meaning = stickGone('');
const full: Meaning = {
  code: 'stick/full',
  message: 'the stick is full',
  todo: 'Free some space on the stick or take a larger one, then run the same command again.',
};
const readOnly: Meaning = {
  code: 'stick/read-only',
  message: 'the stick cannot be written',
  todo: 'Look for a lock switch on the stick and for a policy of this computer that forbids writing, or take another stick.',
};
const goneReadOnly: Meaning = {
  code: 'stick/read-only',
  message: 'the stick took writes and takes none any more',
  todo: 'Systems do that to a stick that they find damaged, and worn flash does it by itself. Pull it, plug it in again, let the operating system check and repair it (fsck, chkdsk, First Aid), and run the same command: it goes on where it stopped. If it happens again after that, save what you need from it, format it with `stickwright format`, which erases it, or take another stick.',
};
const taken: Meaning = {
  code: 'stick/name-taken',
  message: 'something with that name is already there',
  todo: 'Look at what lies on the stick under that name, move it away and run the same command again.',
};
const notPermitted: Meaning = {
  code: 'file/not-permitted',
  message: 'this account may not do that',
  todo: 'A stick that the desktop mounted for you is yours: give the folder where it is mounted. A whole drive, or what another account mounted, takes an account that may use it: the group disk or root on Linux, a terminal that was started as administrator on Windows.',
};
/** From macOS 10.15 on; a file's own rights make EACCES there (intro(2): EPERM; the setting from memory). */
const notLetByMacos: Meaning = {
  code: 'file/not-permitted',
  message: 'macOS does not let this program at it',
  todo: 'Allow the terminal, or whatever started this, removable volumes: System Settings, Privacy & Security, Files and Folders (or Full Disk Access); then start it anew and run the same command again. A whole drive takes root there: sudo.',
};
const inUse: Meaning = {
  code: 'stick/in-use',
  message: 'another program holds it',
  todo: 'Close the windows and programs that show or write this stick, then run the same command again.',
};
const holdsNoName: Meaning = {
  code: 'stick/refused',
  message: 'the stick cannot hold a name like that',
  todo: 'Nothing is renamed silently. A file of your own: give it a shorter or plainer name. A part of the package: ask the maker.',
};

const damaged: Meaning = {
  code: 'stick/damaged',
  message: 'the tables or folders of the volume are damaged, as a pull in the middle of a write leaves them',
  todo: 'This alone does not speak of wear. Eject the stick and let the operating system check and repair it (fsck, chkdsk, First Aid) until it finds nothing more, or format it with `stickwright format`, which erases it; then run the same command again. If it fails again after that, take another stick.',
};
const nothingInside: Meaning = {
  code: 'stick/gone',
  message: 'there is no medium in it: it was taken out, or ejected',
  todo: 'Pull the stick, plug it in again and run the same command: it goes on where it stopped.',
};
const outOfMeans: Meaning = {
  code: 'system/failed',
  message: 'this computer has no memory, no open files or no time left for it',
  todo: 'This says nothing about the stick. Close other programs and run the same command again.',
};
const notKnown: Meaning = {
  code: 'system/failed',
  message: 'the operating system gave an answer that this tool does not know',
  todo: 'This alone says nothing about the stick. Plug it in again, at another port and without a hub, and run the same command again. If the answer stays the same, take another stick, and note the word in brackets for whoever helps you.',
};

const meanings: Readonly<Record<string, Meaning>> = {
  ENXIO: gone,
  ENODEV: gone,
  ENOMEDIUM: nothingInside,
  ENOTCONN: gone, // a FUSE mount whose process ended
  ESHUTDOWN: gone,
  ESTALE: gone,
  ENOSPC: full,
  EDQUOT: full,
  EFBIG: { ...full, message: 'the file is larger than its file system can hold' },
  EROFS: readOnly,
  EEXIST: taken,
  ENOTEMPTY: taken,
  EACCES: notPermitted,
  EPERM: notPermitted,
  EBUSY: inUse,
  ETXTBSY: inUse,
  ENAMETOOLONG: holdsNoName,
  EILSEQ: holdsNoName,
  EUCLEAN: damaged, // "Structure needs cleaning": a driver of Linux that read what cannot be (fs/ext4, fs/xfs)
  ECONNABORTED: gone, // a file that was open on such a mount
  ENOMEM: outOfMeans,
  EMFILE: outOfMeans,
  ENFILE: outOfMeans,
  ENOBUFS: outOfMeans,
  EAGAIN: outOfMeans,
};

/**
 * What a medium that fails, or the cable to it, makes a system say (errno(3); block/blk-core.c in Linux). Nothing else
 * speaks of wear.
 */
const faults: ReadonlySet<string> = new Set(['EIO', 'EREMOTEIO', 'EBADMSG', 'ENODATA', 'ETIMEDOUT', 'EPROTO']);

/** Numbers that libuv has no name for; include/uapi/asm-generic/errno.h of Linux. */
const namesOnLinux: Readonly<Record<string, string>> = {
  '-74': 'EBADMSG',
  '-117': 'EUCLEAN',
  '-123': 'ENOMEDIUM',
  '-124': 'EMEDIUMTYPE',
};

const failed = (doing: 'read' | 'write'): Meaning => ({
  code: doing === 'read' ? 'stick/read-failed' : 'stick/write-failed',
  message: doing === 'read' ? 'reading failed' : 'writing failed',
  todo: 'Try another port without a hub. If it fails again, retire this stick and take another one.',
});

/** What the operating system said, as a ToolError; a ToolError stays what it is. SUBJECT is a path or a device. */
export function toStickError(
  error: unknown,
  doing: 'read' | 'write',
  subject: string,
  platform: NodeJS.Platform = process.platform,
): ToolError {
  if (error instanceof ToolError) return error;
  const errno = errnoOf(error);
  if (errno === undefined) throw error; // not the machine's doing: a bug shows itself
  if (errno === 'UNKNOWN' && platform === 'win32') {
    const path = error instanceof Error && 'path' in error ? String(error.path) : subject;
    const told = unknownOnWindows(path, subject, error);
    if (told !== undefined) return told;
  }
  const isPrivacy = errno === 'EPERM' && platform === 'darwin';
  const meaning = isPrivacy ? notLetByMacos : (meanings[errno] ?? (faults.has(errno) ? failed(doing) : notKnown));
  return new ToolError(meaning.code, subject, `${meaning.message} (${errno})`, meaning.todo, error);
}

/**
 * As `toStickError`, for a device or an image that was there: an unplugged one answers with anything, and is there no
 * more.
 */
export function toDeviceError(error: unknown, doing: 'read' | 'write', path: string): ToolError {
  const errno = errnoOf(error);
  if (errno === undefined) return toStickError(error, doing, path);
  if (meanings[errno]?.code === 'stick/gone' || errno === 'UNKNOWN') return toStickError(error, doing, path);
  return isGone(path) ? stickGone(path) : toStickError(error, doing, path);
}

/** The system's word for what failed, with the name that libuv lacks; undefined for what no system call said. */
export function errnoOf(error: unknown): string | undefined {
  const word = systemWordOf(error);
  const number = /-\d+$/.exec(word ?? '')?.[0];
  return number === undefined || process.platform !== 'linux' ? word : (namesOnLinux[number] ?? word);
}

export const stickDamaged = (subject: string, errno: string): ToolError =>
  new ToolError(damaged.code, subject, `${damaged.message} (${errno})`, damaged.todo);
export const stickFull = (subject: string, message = full.message): ToolError =>
  new ToolError(full.code, subject, message, full.todo);
export const stickReadOnly = (subject: string): ToolError =>
  new ToolError(readOnly.code, subject, readOnly.message, readOnly.todo);
/** A raw drive; a folder's name stays the same. */
export const stickPulledUnopened = (target: string): ToolError =>
  new ToolError(
    'stick/gone',
    target,
    'the stick was pulled before it was opened; nothing was written',
    'Plug it in again. A drive may have another name then: ask `stickwright drives`, and run the same command with that one.',
  );
/** A write to what was open for writing. */
export const stickGoneReadOnly = (subject: string, errno: string, cause: unknown): ToolError =>
  new ToolError(goneReadOnly.code, subject, `${goneReadOnly.message} (${errno})`, goneReadOnly.todo, cause);
export const nameTaken = (subject: string): ToolError => new ToolError(taken.code, subject, taken.message, taken.todo);
/** On Windows, after trying for long; access is also denied where somebody else holds the name (EPERM). */
export const heldByOthers = (subject: string, cause: unknown): ToolError =>
  new ToolError(
    inUse.code,
    subject,
    `another program holds it, a virus scanner most likely; it did not let go within ${patienceSeconds} s (${errnoOf(cause)})`,
    'Wait until the light of the stick rests, then run the same command again: it goes on where it stopped. If it stays so, close what shows the stick, and look whether the file is protected against this account.',
    cause,
  );
export const nameRefused = (subject: string, reason: string): ToolError =>
  new ToolError(holdsNoName.code, subject, `the stick cannot hold that name: ${reason}`, holdsNoName.todo);
/** It is not there, or not of the kind that was expected: that says nothing about the medium. */
export const notAsListed = (subject: string, message: string): ToolError =>
  new ToolError(
    'stick/not-as-listed',
    subject,
    message,
    'Look at what lies on the stick under that name, and run the same command again.',
  );
export const stickFailed = (doing: 'read' | 'write', subject: string, message: string): ToolError =>
  new ToolError(failed(doing).code, subject, message, failed(doing).todo);

/**
 * What is listed is kept in memory and compared with the plan; sticks for panels hold some hundreds (common practice,
 * no source).
 */
export const mostEntries = 100_000;

/** Not a fault of the medium: nobody should retire the stick for it. */
export const tooManyEntries = (subject: string): ToolError =>
  new ToolError(
    'stick/refused',
    subject,
    `there are more than ${mostEntries.toLocaleString('en-US')} files and folders on it; a stick for panels holds some hundreds`,
    'Take an empty stick, or save what you need from this one and erase it with `stickwright format`.',
  );

/** FatFs removes nothing that has the attribute, and js-fatfs 0.2 has no call that takes it away. */
export const markedReadOnly = (subject: string): ToolError =>
  new ToolError(
    'stick/write-failed',
    subject,
    'it is marked read-only, so it was not removed',
    'Take the mark away where the stick is mounted (its properties, or `attrib -r` on Windows), or format the stick; then run the same command again.',
  );
