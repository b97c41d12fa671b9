import { inClearing, type LeftKind } from '../contents/content-kinds.ts';
import type { SortedEntry } from '../contents/sort-contents.ts';
import { manifestName, oldManifestName, parentOf } from '../manifest/stick-names.ts';

/**
 * One thing that clearing does, in the order it does it. `withdraw` gives the manifest another name: from then on the
 * stick says not ready, and what was its own can still be told. `remove` deletes a file or an empty folder.
 */
export interface ClearingItem {
  readonly action: 'withdraw' | 'remove';
  readonly path: string;
  readonly kind: 'file' | 'folder';
  readonly bytes: number;
  readonly what: LeftKind;
  /** A path of the manifest whose content is not the manifest's any more. */
  readonly changed: boolean;
  readonly to?: string;
}

export interface ClearingPlan {
  /** Each step is on the medium before the next begins. */
  readonly steps: readonly (readonly ClearingItem[])[];
  /** Copied to the desk before the first step. */
  readonly kept: readonly SortedEntry[];
  /** What stays; of a folder that stays whole only the folder. */
  readonly stays: readonly SortedEntry[];
  readonly freedBytes: number;
  /** The volume's mark of an unclean pull is taken away first: its tables and folders were checked and are sound. */
  readonly settlesDirtyMark: boolean;
}

interface ClearingInput {
  readonly sorted: readonly SortedEntry[];
  /**
   * Where the manifest lies that says what is the tool's own; undefined where only an empty folder of the tool is left.
   */
  readonly manifestAt: string | undefined;
  readonly toolFolder: string;
  /** Paths of the manifest with other content than it says. */
  readonly changed: ReadonlySet<string>;
  /** What a panel left with content in it is copied to the desk first; only then may it go. */
  readonly keepsLeft: boolean;
  readonly settlesDirtyMark: boolean;
}

/**
 * Says exactly what goes and what stays. Nothing goes that holds bytes which exist nowhere else, but for files under
 * paths of the manifest: their origin is the archive. The manifest goes last, so that a run that was cut off can be
 * finished with it.
 */
export function planClearing(input: ClearingInput): ClearingPlan {
  const { sorted, keepsLeft, changed } = input;
  const isKept = (entry: SortedEntry): boolean =>
    keepsLeft && entry.kind === 'file' && (inClearing(entry.what) === 'when-kept' || changed.has(entry.path));
  const going = findGoing(sorted, isKept);
  const steps = orderSteps(input, going);
  return {
    steps: steps.filter((step) => step.length > 0),
    kept: sorted.filter(isKept),
    stays: topmost(sorted, going),
    freedBytes: sorted.reduce((sum, entry) => sum + (going.has(entry) ? entry.bytes : 0), 0),
    settlesDirtyMark: input.settlesDirtyMark,
  };
}

/** Files by their kind; folders only where all that is in them goes. */
function findGoing(sorted: readonly SortedEntry[], isKept: (entry: SortedEntry) => boolean): ReadonlySet<SortedEntry> {
  const going = new Set<SortedEntry>();
  const holding = new Set<string>();
  // Folders come before what is in them, so backwards every folder comes after all of it.
  for (const entry of sorted.toReversed()) {
    const goes =
      (inClearing(entry.what) === 'goes' || isKept(entry)) && !(entry.kind === 'folder' && holding.has(entry.path));
    if (goes) going.add(entry);
    else holding.add(parentOf(entry.path));
  }
  return going;
}

function orderSteps(
  { manifestAt, toolFolder, changed }: ClearingInput,
  going: ReadonlySet<SortedEntry>,
): readonly (readonly ClearingItem[])[] {
  const all = [...going].reverse();
  const remove = ({ path, kind, bytes, what }: SortedEntry): ClearingItem => {
    return { action: 'remove', path, kind, bytes, what, changed: changed.has(path) };
  };
  const withdrawnAt = `${toolFolder}/${oldManifestName}`;
  const manifest = all.find(({ path }) => path === manifestAt);
  const isCounting = manifest !== undefined && manifest.path === `${toolFolder}/${manifestName}`;
  const isOwn = (entry: SortedEntry): boolean => entry.what === 'record';
  const files = all.filter(({ kind }) => kind === 'file');
  const folders = all.filter(({ kind }) => kind === 'folder').reverse();
  const lastFile = isCounting ? { ...manifest, path: withdrawnAt } : manifest;
  return [
    // A file of that name from an earlier run stands in the way of the new one.
    isCounting ? files.filter((entry) => isOwn(entry) && entry.path === withdrawnAt).map(remove) : [],
    isCounting ? [{ ...remove(manifest), action: 'withdraw', to: withdrawnAt }] : [],
    files.filter((entry) => !isOwn(entry)).map(remove),
    folders.filter((entry) => !isOwn(entry)).map(remove),
    files
      .filter((entry) => isOwn(entry) && entry !== manifest && !(isCounting && entry.path === withdrawnAt))
      .map(remove),
    lastFile === undefined ? [] : [remove(lastFile)],
    folders.filter(isOwn).map(remove),
  ];
}

const shownWhole: ReadonlySet<LeftKind> = new Set(['stayed', 'unexplained']);

/**
 * Somebody's folder is named once, with the size of all that is in it; of other folders what stays in them is named.
 */
function topmost(sorted: readonly SortedEntry[], going: ReadonlySet<SortedEntry>): readonly SortedEntry[] {
  const whole = new Map<string, number>();
  const shown: SortedEntry[] = [];
  for (const entry of sorted) {
    if (going.has(entry)) continue;
    const holder = holderOf(entry.path, whole);
    if (holder !== undefined) whole.set(holder, (whole.get(holder) ?? 0) + entry.bytes);
    else if (entry.kind === 'file') shown.push(entry);
    else if (shownWhole.has(entry.what)) {
      whole.set(entry.path, 0);
      shown.push(entry);
    }
  }
  return shown.map((entry) => ({ ...entry, bytes: whole.get(entry.path) ?? entry.bytes }));
}

function holderOf(path: string, whole: ReadonlyMap<string, number>): string | undefined {
  let parent = parentOf(path);
  while (parent !== '' && !whole.has(parent)) parent = parentOf(parent);
  return parent === '' ? undefined : parent;
}
