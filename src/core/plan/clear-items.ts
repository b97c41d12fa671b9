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

/** The manifest goes first: from then on the stick says not ready, until the new one is down. */
export function withdrawal(entries: readonly StickEntry[]): readonly PlanItem[] {
  const known = [toolFolder, ...recordNames.map((name) => `${toolFolder}/${name}`)].map(foldName);
  const rank = ({ path, kind }: StickEntry): number =>
    foldName(path) === foldName(manifestPath) ? 0 : kind === 'file' ? 1 : 2;
  return entries
    .filter(({ path }) => known.includes(foldName(path)))
    .toSorted((a, b) => rank(a) - rank(b))
    .map(({ path, kind, bytes }) => ({ action: 'withdraw', path, kind, bytes }));
}

/** What an unfinished run left in the staging folder and this one cannot use. */
export function staleStaging(entries: readonly StickEntry[], wanted: WantedTree, kept: Kept): readonly PlanItem[] {
  const used = new Set([...kept.values()].map(({ stickPath }) => stickPath));
  const folders = new Set(wanted.folders.map((folder) => `${stagingFolder}/${folder}`));
  return entries
    .filter(({ path, kind }) => path.startsWith(`${stagingFolder}/`) && !(kind === 'file' ? used : folders).has(path))
    .toReversed()
    .map(removeEntry);
}
