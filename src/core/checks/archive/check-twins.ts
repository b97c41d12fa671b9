import { type ArchiveShape, startOf } from '../../archive-format/read-end-records.ts';
import { type Finding, finding } from '../../findings/finding.ts';
import { foldName } from '../../volume-format/fat-name.ts';

interface Seen {
  readonly path: string;
  readonly folder: boolean;
  /** Named by an entry of its own, not only as the folder of another. */
  entry: boolean;
}

/**
 * Two entries that fall together on a stick: the same name twice, or names that differ only in case, Unicode form, or a
 * dot or space at the end of a part (Microsoft, Naming Files, Paths, and Namespaces; FAT compares without case).
 * Folders that are only named as part of a path count as well.
 */
export function checkTwins(shape: ArchiveShape): readonly Finding[] {
  const seen = new Map<string, Seen>();
  const folders = new Set<string>();
  const found: Finding[] = [];
  for (const record of shape.directory.records) {
    const name = record.name.shown;
    const offset = startOf(shape, record);
    for (const path of parentsOf(name)) {
      if (folders.has(path)) continue;
      folders.add(path);
      found.push(...note(seen, path, true, false, offset));
    }
    found.push(...note(seen, name.replace(/\/$/, ''), name.endsWith('/'), true, offset));
  }
  return found;
}

function note(
  seen: Map<string, Seen>,
  path: string,
  folder: boolean,
  entry: boolean,
  offset: number,
): readonly Finding[] {
  const key = foldPath(path);
  const before = seen.get(key);
  if (before === undefined) {
    seen.set(key, { path, folder, entry });
    return [];
  }
  if (before.folder !== folder) return [finding('archive/file-and-folder', path, { offset, other: before.path })];
  if (before.path !== path) {
    return [finding('archive/twins', path, { offset, other: before.path, differ: howTheyDiffer(before.path, path) })];
  }
  const twice = entry && before.entry;
  before.entry ||= entry;
  if (!twice) return [];
  return [folder ? finding('archive/folder-twice', path, { offset }) : finding('archive/name-twice', path, { offset })];
}

function* parentsOf(name: string): Generator<string> {
  for (let slash = name.indexOf('/'); slash !== -1; slash = name.indexOf('/', slash + 1)) {
    yield name.slice(0, slash);
  }
}

/** A part that is nothing but dots or spaces has no tail to drop. */
const dropTails = (path: string): string => path.replace(/(?<=[^/. ])[. ]+(?=\/|$)/g, '');
/** Up and down again: a few letters have no lower case of their own. */
const foldCase = (path: string): string => foldName(path).toLowerCase();
const foldPath = (path: string): string => {
  const kept = dropTails(path);
  return /^[\x20-\x7e]*$/.test(kept) ? kept.toLowerCase() : foldCase(kept.normalize('NFC')).normalize('NFC');
};

function howTheyDiffer(one: string, other: string): 'case' | 'unicode-form' | 'tail' {
  if (one.normalize('NFC') === other.normalize('NFC')) return 'unicode-form';
  return dropTails(one) === dropTails(other) ? 'tail' : 'case';
}
