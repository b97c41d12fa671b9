import { fatNameProblem } from '../../../core/volume-format/fat-name.ts';
import { nameRefused } from '../os-error.ts';

/** FatFs would split at these, take them for a drive, or drop the character in silence. */
const unreachable = /[\\:]|[. ]$/;

/**
 * PATH as FatFs takes it. A `new` name must be one that FAT can hold as it is spelled; an `existing` one may be a name that only
 * other systems object to, but not one that FatFs would take for another.
 */
export function toFatPath(path: string, kind: 'new' | 'existing'): string {
  const parts = path.split('/');
  for (const [index, part] of parts.entries()) {
    const isNew = kind === 'new' && index === parts.length - 1;
    const problem = isNew ? fatNameProblem(part) : existingNameProblem(part);
    if (problem !== undefined) throw nameRefused(path, problem);
  }
  return `/${path}`;
}

function existingNameProblem(part: string): string | undefined {
  if (part === '' || part === '.' || part === '..') return 'it is not a name';
  return unreachable.test(part) ? 'FAT readers would take it for another name' : undefined;
}
