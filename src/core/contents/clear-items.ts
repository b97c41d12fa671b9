import {
  manifestPath,
  oldManifestName,
  parentOf,
  parentsOf,
  rootOf,
  setAsideFolder,
  stagingFolder,
  stickRecordFolder,
  toolFolder,
  toolNames,
  unpublishedManifests,
} from '../manifest/stick-names.ts';
import type { PlanItem } from '../model/layout-plan.ts';
import type { StickEntry } from '../model/stick-facts.ts';
import { foldName } from '../volume-format/fat-name.ts';
import type { Content } from './classify-contents.ts';
import { onlyBothers } from './content-kinds.ts';
import type { Kept } from './find-kept.ts';
import { looksLikeFirmware, nameSetAside } from './firmware-signs.ts';
import type { WantedTree } from './wanted-tree.ts';

const removeEntry = ({ path, kind, bytes }: StickEntry): PlanItem => ({ action: 'remove', path, kind, bytes });

/** Every file and folder below, deepest first, then the thing itself: a removal lists all that goes. */
export function removalOf({ path, entryKind, bytes }: Content, entries: readonly StickEntry[]): readonly PlanItem[] {
  const below = entries.filter((entry) => entry.path.startsWith(`${path}/`)).toReversed();
  return [...below.map(removeEntry), removeEntry({ path, kind: entryKind, bytes: entryKind === 'file' ? bytes : 0 })];
}

/**
 * Moves, and then new names for what a panel could take for firmware: it stays on the stick, and no panel that looks
 * into folders may list it.
 */
export function settingAside(
  contents: readonly Content[],
  { at, entries, isFirmware }: { at: string; entries: readonly StickEntry[]; isFirmware: (path: string) => boolean },
): readonly PlanItem[] {
  const aside = setAsideFolder(at, new Set(entries.map(({ path }) => foldName(rootOf(path)))));
  const taken = new Set(entries.map(({ path }) => foldName(`${aside}/${path}`)));
  const renamed = (path: string): string => {
    const [folder, name] = [parentOf(path), path.slice(path.lastIndexOf('/') + 1)];
    let to = `${folder}/${nameSetAside(name)}`;
    for (let next = 2; taken.has(foldName(to)); next++) to = `${folder}/${nameSetAside(`${name}-${next}`)}`;
    taken.add(foldName(to));
    return to;
  };
  const moves = contents.flatMap(({ path, kind, entryKind, bytes }): Extract<PlanItem, { action: 'set-aside' }>[] => {
    const move = { action: 'set-aside' as const, path, to: `${aside}/${path}`, bytes };
    const hides = (one: string): boolean => isFirmware(one) || (!onlyBothers(kind) && looksLikeFirmware(one));
    if (entryKind === 'file') return [hides(path) ? { ...move, to: renamed(move.to) } : move];
    const below = entries.filter(
      (entry) => entry.kind === 'file' && entry.path.startsWith(`${path}/`) && hides(entry.path),
    );
    return [
      move,
      ...below.map((entry) => {
        const from = `${aside}/${entry.path}`;
        return { action: 'set-aside' as const, path: from, to: renamed(from), bytes: entry.bytes };
      }),
    ];
  });
  const moved = new Set(moves.map(({ to }) => to));
  const folders = new Set(moves.flatMap(({ to }) => parentsOf(to)).filter((folder) => !isWithin(folder, moved)));
  return [...[...folders].map((path) => ({ action: 'make-folder' as const, path })), ...moves];
}

export const isWithin = (path: string, roots: ReadonlySet<string>): boolean =>
  roots.has(path) || parentsOf(path).some((parent) => roots.has(parent));

/** What is taken away of earlier records, and when. */
interface Withdrawal {
  /** Before anything else changes: from then on the stick says not ready. */
  readonly first: readonly PlanItem[];
  /** When the new record lies complete on the stick. */
  readonly last: readonly PlanItem[];
}

/**
 * Manifests that count, or might, go first; the one that is known (`knownAt`: where it lies) only changes its name, so
 * that a run that is cut off can be finished with what it says. The rest, and their folder, go last.
 */
export function withdrawal(entries: readonly StickEntry[], knownAt: string | undefined): Withdrawal {
  const files = entries.filter(({ path, kind }) => kind === 'file' && isRecordFile(path));
  const keptAs = knownAt === undefined ? undefined : `${parentOf(knownAt)}/${oldManifestName}`;
  const known = files.filter(({ path }) => path === knownAt && path !== keptAs);
  const staysForNow = (path: string): boolean =>
    path === knownAt || (parentOf(path) === toolFolder && !manifests.has(path));
  const others = files.filter(({ path }) => !staysForNow(path));
  const folder = entries.filter(({ path, kind }) => kind === 'folder' && path === toolFolder);
  return {
    first: [
      ...others.filter(({ path }) => path === keptAs).map(withdraw),
      ...known.map((entry) => ({ ...withdraw(entry), to: keptAs ?? entry.path })),
      ...others.filter(({ path }) => path !== keptAs).map(withdraw),
    ],
    last: [
      ...files.filter(({ path }) => staysForNow(path) && !known.some((entry) => entry.path === path)).map(withdraw),
      ...folder.map(withdraw),
    ],
  };
}

const manifests = new Set([manifestPath, ...unpublishedManifests]);
const isRecordFile = (path: string): boolean => {
  const parent = parentOf(path);
  if (parent === stickRecordFolder) return true;
  return parent === toolFolder && toolNames.has(path.slice(path.lastIndexOf('/') + 1));
};

type WithdrawItem = Extract<PlanItem, { action: 'withdraw' }>;

const withdraw = ({ path, kind, bytes }: StickEntry): WithdrawItem => ({ action: 'withdraw', path, kind, bytes });

/** Also a file that has the folder's name. */
const isStaged = (path: string, kind: StickEntry['kind']): boolean =>
  path.startsWith(`${stagingFolder}/`) || (path === stagingFolder && kind === 'file');

/**
 * What an unfinished run left in the staging folder and this one cannot use; the folders themselves where it starts
 * over.
 */
export function staleStaging(
  {
    entries,
    wanted,
    startsOver,
  }: {
    readonly entries: readonly StickEntry[];
    readonly wanted: WantedTree;
    readonly startsOver?: boolean | undefined;
  },
  kept: Kept,
): readonly PlanItem[] {
  const used = new Set([...kept.values()].map(({ stickPath }) => stickPath));
  const folders = new Set(wanted.folders.map((folder) => `${stagingFolder}/${folder}`));
  const isStale = ({ path, kind }: StickEntry): boolean =>
    startsOver === true
      ? rootOf(path) === stagingFolder || (path === stickRecordFolder && kind === 'folder')
      : isStaged(path, kind) && !(kind === 'file' ? used : folders).has(path);
  return entries.filter(isStale).toReversed().map(removeEntry);
}
