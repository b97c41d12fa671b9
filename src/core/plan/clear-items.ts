import type { PlanItem } from '../model/layout-plan.ts';
import type { StickEntry } from '../model/stick-facts.ts';
import type { Content } from './classify-contents.ts';
import type { Kept } from './find-kept.ts';
import {
  foldName,
  manifestPath,
  parentOf,
  recordNames,
  setAsideFolder,
  stagingFolder,
  toolFolder,
} from './stick-names.ts';
import type { WantedTree } from './wanted-tree.ts';

const removeEntry = ({ path, kind, bytes }: StickEntry): PlanItem => ({ action: 'remove', path, kind, bytes });

/** Every file and folder below, deepest first, then the thing itself: a removal lists all that goes. */
export function removalOf({ path, entryKind, bytes }: Content, entries: readonly StickEntry[]): readonly PlanItem[] {
  const below = entries.filter((entry) => entry.path.startsWith(`${path}/`)).toReversed();
  return [...below.map(removeEntry), removeEntry({ path, kind: entryKind, bytes: entryKind === 'file' ? bytes : 0 })];
}

export function settingAside(contents: readonly Content[], at: string): readonly PlanItem[] {
  const moves = contents.map(({ path, bytes }) => ({
    action: 'set-aside' as const,
    path,
    to: `${setAsideFolder(at)}/${path}`,
    bytes,
  }));
  const folders = new Set<string>();
  for (const { to } of moves) {
    for (let parent = parentOf(to); parent !== ''; parent = parentOf(parent)) folders.add(parent);
  }
  return [...[...folders].sort().map((path) => ({ action: 'make-folder' as const, path })), ...moves];
}

/**
 * The earlier manifest and its lists, the manifest first: from then on the stick says not ready, until the new one is
 * down. Then their folder, to be removed when what else lies in it has been cleared.
 */
export function withdrawal(
  entries: readonly StickEntry[],
): readonly [files: readonly PlanItem[], folder: readonly PlanItem[]] {
  const names = [manifestPath, ...recordNames.map((name) => `${toolFolder}/${name}`)].map(foldName);
  const found = [...new Set(names)].flatMap((name) =>
    entries.filter(({ path, kind }) => kind === 'file' && foldName(path) === name),
  );
  const folder = entries.filter(({ path, kind }) => kind === 'folder' && foldName(path) === foldName(toolFolder));
  return [found.map(withdraw), folder.map(withdraw)];
}

const withdraw = ({ path, kind, bytes }: StickEntry): PlanItem => ({ action: 'withdraw', path, kind, bytes });

/** What an unfinished run left in the staging folder and this one cannot use. */
export function staleStaging(entries: readonly StickEntry[], wanted: WantedTree, kept: Kept): readonly PlanItem[] {
  const used = new Set([...kept.values()].map(({ stickPath }) => stickPath));
  const folders = new Set(wanted.folders.map((folder) => `${stagingFolder}/${folder}`));
  return entries
    .filter(({ path, kind }) => path.startsWith(`${stagingFolder}/`) && !(kind === 'file' ? used : folders).has(path))
    .toReversed()
    .map(removeEntry);
}
