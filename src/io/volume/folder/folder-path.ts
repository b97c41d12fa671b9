import { lstatSync } from 'node:fs';
import { lstat, readdir } from 'node:fs/promises';
import { basename, dirname, join, sep } from 'node:path';
import { fatNameProblem } from '../../../core/volume-format/fat-name.ts';
import { errnoOf, nameRefused, stickFailed } from '../os-error.ts';

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

/**
 * Each folder on the way to PATH is a folder and not a link. The system has them in memory, so asking another thread would cost
 * ten times the answer. Between this look and the use of the path lies a moment in which another
 * program could put a link there: Node offers nothing that opens relative to an open folder.
 */
export function checkParents(root: string, path: string, doing: 'read' | 'write'): void {
  const parts = path.split('/').slice(0, -1);
  let at = root;
  for (const part of parts) {
    at = join(at, part);
    const stat = lstatSync(at);
    if (stat.isSymbolicLink())
      throw stickFailed(doing, path, 'a link lies on the way to it, and links are not followed');
    if (!stat.isDirectory()) throw stickFailed(doing, path, 'a file lies on the way to it');
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

/** Some drivers give a thing a new number at each look; then only the folder tells whether both spellings are the same one. */
export async function isOnlyRespelled(from: string, to: string): Promise<boolean> {
  if (from.toLowerCase() !== to.toLowerCase() || dirname(from) !== dirname(to)) return false;
  return !(await readdir(dirname(to))).includes(basename(to));
}
