import type { Stats } from 'node:fs';
import { lstat, readdir } from 'node:fs/promises';
import { basename, dirname, sep } from 'node:path';
import { fatNameProblem } from '../../../core/volume-format/fat-name.ts';
import { errnoOf, nameRefused } from '../os-error.ts';

/**
 * Refuses a PATH that would lead out of the root, and a new name that the volume cannot hold as it is spelled: by the rules
 * of FAT where STRICT (FAT, exFAT and NTFS volumes, and everything on Windows), which some drivers bend in silence.
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

/** Some drivers give a thing a new number at each look; then only the folder tells whether both spellings are the same one. */
export async function isOnlyRespelled(from: string, to: string): Promise<boolean> {
  if (from.toLowerCase() !== to.toLowerCase() || dirname(from) !== dirname(to)) return false;
  return !(await readdir(dirname(to))).includes(basename(to));
}

/** Less than this is no reason to ask first: a smaller file finds out by itself that the volume is full. */
export const worthAskingBytes = 2 ** 20;

/** What drivers in user space say where there is no room left (fusefat 0.1a-3: EPERM), beside ENOSPC. */
export const saidWhenFull: ReadonlySet<string> = new Set(['EPERM', 'EIO', 'EINVAL']);
