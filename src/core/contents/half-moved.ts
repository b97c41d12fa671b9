import { isInRecord, isSetAsideFolder, rootOf, stagingFolder, stickRecordFolder } from '../manifest/stick-names.ts';
import type { StickEntry } from '../model/stick-facts.ts';
import { foldName } from '../volume-format/fat-name.ts';
import { isPutAway, withoutPutAway } from './firmware-signs.ts';

export interface HalfMoved {
  readonly first: string;
  readonly second: string;
}

/**
 * Files that stand under a name and under the one that a preparation moves them from or to, with the same length and
 * the same times: a cut in the middle of a rename leaves that, and on FAT and exFAT both names may then lead to one
 * place. A file that was written twice has times of its own. Only of entries that carry a stamp.
 */
export function findHalfMoved(entries: readonly StickEntry[]): readonly HalfMoved[] {
  const known = new Map<string, string>();
  const found: HalfMoved[] = [];
  for (const { path, kind, bytes, stamp } of entries) {
    if (kind !== 'file' || bytes === 0 || stamp === undefined) continue;
    const key = `${bytes} ${stamp} ${ownNameOf(path)}`;
    const first = known.get(key);
    if (first === undefined) known.set(key, path);
    else found.push({ first, second: path });
  }
  return found;
}

/** What a preparation calls it in the end, or called it before it was put away. */
function ownNameOf(path: string): string {
  const root = rootOf(path);
  const below = foldName(path.slice(root.length + 1));
  // A manifest changes its name, and each is another one.
  if (isInRecord(path)) return `record ${/^MANIFEST\./.test(below) ? 'MANIFEST' : below}`;
  if (root === stickRecordFolder) return `record ${below}`;
  if (isSetAsideFolder(root)) return foldName(isPutAway(path) ? withoutPutAway(path.slice(root.length + 1)) : below);
  return root === stagingFolder ? below : foldName(path);
}
