import { constants } from 'node:fs';
import { access } from 'node:fs/promises';
import { relative } from 'node:path';
import type { StickFacts } from '../../../core/model/stick-facts.ts';
import { errnoOf, notAsListed, stickDamaged, stickFull, stickGone, toStickError } from '../os-error.ts';
import { saidWhenFull } from './folder-path.ts';
import { freeBytesAt } from './read-folder-facts.ts';

interface AskedFolder {
  readonly root: string;
  /** As they were when it was opened. */
  readonly facts: StickFacts;
  readonly countFreeBytes: () => Promise<number>;
  readonly isThere: () => boolean;
}

/** What the system's answer about something below a mounted folder means, seen with what has become of the mount. */
export async function explainFolderError(
  error: unknown,
  doing: 'read' | 'write',
  subject: string,
  folder: AskedFolder,
): Promise<Error> {
  const errno = errnoOf(error);
  if (errno === undefined) return error as Error;
  const { root, facts, countFreeBytes, isThere } = folder;
  if (!isThere()) return stickGone(facts.target);
  if (errno === 'ENOENT') return notAsListed(subject, 'it, or the folder it lies in, is not on the stick');
  if (doing === 'write' && saidWhenFull.has(errno)) {
    // Less than one cluster is no room; where it cannot be said, there is some.
    const freeBytes = await freeBytesAt(root, countFreeBytes).catch(() => Number.POSITIVE_INFINITY);
    if (freeBytes < (facts.clusterBytes ?? 1)) return stickFull(subject);
  }
  const damaged = await damagedPlace(error, errno, folder);
  return damaged === undefined ? toStickError(error, doing, subject) : stickDamaged(damaged || subject, errno);
}

/**
 * Where the volume's structure, not the medium, is what failed: Linux's drivers take away the right to write when they meet such
 * damage (mount option `errors=remount-ro`), and vfat fails to look at a folder that has no sound beginning. Empty where the place is
 * not told.
 */
async function damagedPlace(error: unknown, errno: string, { root, facts }: AskedFolder): Promise<string | undefined> {
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
