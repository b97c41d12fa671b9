import { type ArchiveShape, startOf } from '../../archive-format/archive-shape.ts';
import { type Finding, finding } from '../../findings/finding.ts';

interface Seen {
  readonly path: string;
  readonly folder: boolean;
  /** Named by an entry of its own, not only as the folder of another. */
  entry: boolean;
}

/**
 * Two entries that fall together on a stick: the same name twice, or names that differ only in case, Unicode form, or a
 * dot or space at the end of a part (Microsoft, Naming Files, Paths, and Namespaces; FAT compares without case). Folders
 * that are only named as part of a path count as well.
 */
export function checkTwins(shape: ArchiveShape): readonly Finding[] {
  const seen = new Map<string, Seen>();
  return shape.directory.records.flatMap((record) => {
    const name = record.name.shown;
    const offset = startOf(shape, record);
    const found = parentsOf(name).flatMap((path) => note(seen, path, true, false, offset));
    return [...found, ...note(seen, name.replace(/\/$/, ''), name.endsWith('/'), true, offset)];
  });
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

function parentsOf(name: string): readonly string[] {
  const parts = name.replace(/\/$/, '').split('/').slice(0, -1);
  return parts.map((_, index) => parts.slice(0, index + 1).join('/'));
}

const dropTails = (path: string): string =>
  path
    .split('/')
    .map((part) => part.replace(/(?<=[^. ])[. ]+$/, ''))
    .join('/');
const foldCase = (path: string): string => path.toUpperCase().toLowerCase();
const foldPath = (path: string): string => foldCase(dropTails(path).normalize('NFC')).normalize('NFC');

function howTheyDiffer(one: string, other: string): 'case' | 'unicode-form' | 'tail' {
  if (one.normalize('NFC') === other.normalize('NFC')) return 'unicode-form';
  return dropTails(one) === dropTails(other) ? 'tail' : 'case';
}
