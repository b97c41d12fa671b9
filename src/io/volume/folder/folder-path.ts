import { constants, type Stats, statSync } from 'node:fs';
import { access, lstat, readdir } from 'node:fs/promises';
import { basename, dirname, relative, sep } from 'node:path';
import type { StickFacts } from '../../../core/model/stick-facts.ts';
import { fatNameProblem } from '../../../core/volume-format/fat-name.ts';
import { isGone } from '../is-gone.ts';
import {
  errnoOf,
  heldByOthers,
  nameRefused,
  notAsListed,
  stickDamaged,
  stickFull,
  stickGoneReadOnly,
  toStickError,
} from '../os-error.ts';
import { notTheSameRoot, unknownOnWindows } from '../unknown-on-windows.ts';
import { stickGone } from '../volume.ts';
import { freeBytesAt } from './read-folder-facts.ts';

/**
 * Refuses a PATH that would lead out of the root, and a new name that the volume cannot hold as it is spelled: by the
 * rules of FAT where STRICT (FAT, exFAT and NTFS volumes, and everything on Windows), which some drivers bend in
 * silence.
 */
export function checkFolderPath(path: string, kind: 'new' | 'existing', strict: boolean): void {
  const parts = path.split('/');
  for (const [index, part] of parts.entries()) {
    if (part === '' || part === '.' || part === '..') throw nameRefused(path, 'it is not a name');
    if (part.includes('\0') || (sep === '\\' && /[\\:]/.test(part))) throw nameRefused(path, 'it is not a name');
    const problem = strict && kind === 'new' && index === parts.length - 1 ? fatNameProblem(part) : undefined;
    if (problem !== undefined) throw nameRefused(path, problem);
  }
}

export const exists = (path: string): Promise<boolean> =>
  lstat(path).then(
    () => true,
    (error: unknown) => {
      if (errnoOf(error) === 'ENOENT') return false;
      throw error;
    },
  );

export const isSame = (a: Stats, b: Stats): boolean => a.dev === b.dev && a.ino === b.ino;

/**
 * Some drivers give a thing a new number at each look; then only the folder tells whether both spellings are the same
 * one.
 */
export async function isOnlyRespelled(from: string, to: string): Promise<boolean> {
  if (from.toLowerCase() !== to.toLowerCase() || dirname(from) !== dirname(to)) return false;
  return !(await readdir(dirname(to))).includes(basename(to));
}

/** Less than this is no reason to ask first: a smaller file finds out by itself that the volume is full. */
export const worthAskingBytes = 2 ** 20;

/** What drivers in user space say where there is no space left (fusefat 0.1a-3: EPERM), beside ENOSPC. */
const saidWhenFull: ReadonlySet<string> = new Set(['EPERM', 'EIO', 'EINVAL']);

export type Doing = 'read' | 'write';

export interface RootParts {
  /** As they were when it was opened. */
  readonly facts: StickFacts;
  /** Absolute and free of links. */
  readonly root: string;
  readonly rootStat: Stats;
  /** The device or image file behind it, where the system tells. */
  readonly device: string | undefined;
  /** Counts free bytes where the file system does not tell them. */
  readonly countFreeBytes: () => Promise<number>;
}

/**
 * The folder that a stick is mounted at: whether the stick is still there, and what an error means that came from
 * below.
 */
export class MountedRoot {
  readonly #parts: RootParts;

  constructor(parts: RootParts) {
    this.#parts = parts;
  }

  /**
   * When a stick is pulled its mount point becomes an empty folder of the computer's own drive; nothing must land
   * there.
   */
  check(): void {
    if (!this.isThere()) throw notThere(this.#parts);
  }

  /** Asked before each change: see `OwnFileSystem` for why not in another thread. */
  isThere(): boolean {
    try {
      return isSame(statSync(this.#parts.root), this.#parts.rootStat);
    } catch {
      return false;
    }
  }

  /** A pulled stick stays mounted, and answers from memory, until somebody unmounts it; its device is gone at once. */
  isPulled(): boolean {
    return this.#parts.device !== undefined && isGone(this.#parts.device);
  }

  explain(error: unknown, doing: Doing, subject: string): Promise<Error> {
    return explainFolderError(error, doing, subject, this.#parts, this.isThere() && !this.isPulled());
  }
}

const notThere = ({ root, rootStat, facts }: RootParts): Error =>
  process.platform === 'win32' ? notTheSameRoot(root, rootStat, facts.target) : stickGone(facts.target);

/** What the system's answer about something below a mounted folder means, seen with what has become of the mount. */
async function explainFolderError(
  error: unknown,
  doing: Doing,
  subject: string,
  folder: RootParts,
  isThere: boolean,
): Promise<Error> {
  const errno = errnoOf(error);
  if (errno === undefined) return error as Error;
  const { root, facts, countFreeBytes } = folder;
  if (!isThere) return notThere(folder);
  if (errno === 'UNKNOWN' && process.platform === 'win32')
    return unknownOnWindows(root, subject, error) ?? toStickError(error, doing, subject);
  if (errno === 'EBUSY' && process.platform === 'win32') return heldByOthers(subject, error); // tried again by now
  if (errno === 'ENOENT') return notAsListed(subject, 'it, or the folder it lies in, is not on the stick');
  if (doing === 'write' && saidWhenFull.has(errno)) {
    // Less than one cluster is no space; where it cannot be said, there is some.
    const freeBytes = await freeBytesAt(root, countFreeBytes).catch(() => Number.POSITIVE_INFINITY);
    if (freeBytes < (facts.clusterBytes ?? 1)) return stickFull(subject);
  }
  // Windows tells of a lock switch only with the list of drives, which may be missing.
  const tookWrites = !facts.readOnly && process.platform !== 'win32';
  if (errno === 'EROFS' && doing === 'write' && tookWrites) return stickGoneReadOnly(subject, errno, error);
  const damaged = await damagedPlace(error, errno, folder);
  return damaged === undefined ? toStickError(error, doing, subject) : stickDamaged(damaged || subject, errno);
}

/**
 * Where the volume's structure, not the medium, is what failed: Linux's drivers take away the right to write when they
 * meet such damage (mount option `errors=remount-ro`), and vfat fails to look at a folder that has no sound beginning.
 * Empty where the place is not told.
 */
async function damagedPlace(error: unknown, errno: string, { root, facts }: RootParts): Promise<string | undefined> {
  const { syscall = '', path } = error as NodeJS.ErrnoException;
  const isFolder = errno === 'EIO' && /^(opendir|readdir|scandir|l?stat)$/.test(syscall);
  if (!isFolder && !(errno === 'EIO' && !facts.readOnly && (await isReadOnlyNow(root)))) return undefined;
  return path === undefined ? '' : relative(root, path).replaceAll('\\', '/');
}

/** access(2) says so before it looks at anybody's rights. */
const isReadOnlyNow = (root: string): Promise<boolean> =>
  access(root, constants.W_OK).then(
    () => false,
    (error: unknown) => errnoOf(error) === 'EROFS',
  );
