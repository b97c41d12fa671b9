import { type Finding, finding } from '../../findings/finding.ts';
import type { ArchiveFacts } from '../../model/archive-facts.ts';
import type { Mode } from '../../model/mode.ts';

/** Folders and files that archivers and desktops add beside the tree they were asked for. */
const companions = /^(__MACOSX\/|\.DS_Store$|Thumbs\.db$|desktop\.ini$)/i;

/**
 * The whole tree lies in one folder: in recovery nothing would be at the stick's root. `wanted`: the family says that
 * this folder belongs at the root. Without a mode it is only noted.
 */
export function checkNestedFolder(facts: ArchiveFacts, mode: Mode | undefined, wanted: boolean): readonly Finding[] {
  const files = facts.entries
    .filter(({ name, folder }) => !folder && !companions.test(name))
    .map(({ name }) => name.split('/').slice(0, -1));
  const shared = sharedFolder(files);
  if (shared.length === 0 || wanted) return [];
  const found = { folder: shared.join('/'), depth: shared.length };
  return mode === 'recovery'
    ? [finding('archive/nested-folder', facts.fileName, found)]
    : [finding('archive/nested-folder-seen', facts.fileName, found)];
}

/** The folders that all files have in common, from the root down. */
function sharedFolder(folders: readonly (readonly string[])[]): readonly string[] {
  const [first = [], ...others] = folders;
  let depth = first.length;
  for (const other of others) {
    let same = 0;
    while (same < depth && first[same] === other[same]) same += 1;
    depth = same;
  }
  return first.slice(0, depth);
}
