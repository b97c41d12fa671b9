import {
  isSetAsideFolder,
  ownFolders,
  parentOf,
  parentsOf,
  rootOf,
  stagingFolder,
  toolFolder,
  toolNames,
} from '../manifest/stick-names.ts';
import type { Manifest } from '../model/manifest.ts';
import type { FileGlance, StickEntry } from '../model/stick-facts.ts';
import { foldName } from '../volume-format/fat-name.ts';
import { type ContentKind, isOfPanel, onlyBothers } from './content-kinds.ts';
import type { Kept } from './find-kept.ts';
import { type FirmwareNames, firmwareSign, isPutAway, looksLikeFirmware } from './firmware-signs.ts';
import { isAppleDouble, leftBySystem } from './left-by-systems.ts';
import type { WantedTree } from './wanted-tree.ts';

export interface Content {
  /** A root entry, an entry inside a firmware folder, or firmware that lies anywhere else. */
  readonly path: string;
  readonly kind: ContentKind;
  readonly entryKind: 'file' | 'folder';
  /** Of a folder: all that is in it. */
  readonly bytes: number;
  /** Why it is firmware, where it lies in something that is none. */
  readonly sign?: string;
}

export interface Classifying extends FirmwareNames {
  readonly entries: readonly StickEntry[];
  readonly wanted: WantedTree;
  /** The whole manifest that lies on the stick, if there is one. */
  readonly manifest: Manifest | undefined;
  /** True where that manifest was made from this archive, for this mode and this label. */
  readonly sameJob: boolean;
  readonly kept: Kept;
  /** What a look into the files showed that are not known. */
  readonly glances: ReadonlyMap<string, FileGlance>;
}

const ownNames = new Set(ownFolders.map(foldName));

/**
 * Sorts all that lies at the root, all that lies inside the firmware's own folders, and firmware wherever it lies, into
 * kinds.
 */
export function classifyContents(input: Classifying): readonly Content[] {
  const sorting = {
    ...input,
    wantedFiles: new Set(input.wanted.files.map(({ path }) => foldName(path))),
    wantedFolders: new Set(input.wanted.folders.map(foldName)),
    ownFolders: new Set(input.wanted.folders),
    earlier: new Set((input.manifest?.files ?? []).flatMap(({ path }) => [path, rootOf(path)])),
  };
  const sizes = folderSizes(input.entries);
  const contents: Content[] = [];
  for (const entry of input.entries) {
    const parent = parentOf(entry.path);
    const looksInside = parent === '' || parent === toolFolder || sorting.ownFolders.has(parent);
    if (!looksInside) continue;
    const bytes = entry.kind === 'file' ? entry.bytes : (sizes.get(entry.path) ?? 0);
    contents.push({ path: entry.path, kind: kindOf(entry, parent, sorting), entryKind: entry.kind, bytes });
  }
  return [...contents, ...firmwareWithin(contents, input)];
}

/** What a panel could take for firmware in folders that are something else. */
function firmwareWithin(contents: readonly Content[], input: Classifying): readonly Content[] {
  const hiding = new Set(contents.filter(({ kind }) => onlyBothers(kind)).map(({ path }) => path));
  return input.entries.flatMap(({ path, kind, bytes }) => {
    if (kind !== 'file' || isPutAway(path) || !parentsOf(path).some((parent) => hiding.has(parent))) return [];
    const sign = firmwareSign(path, input.glances.get(path), input);
    return sign === undefined ? [] : [{ path, kind: 'other-firmware' as const, entryKind: kind, bytes, sign }];
  });
}

interface Sorting extends Classifying {
  /** Folded: what would be in the way of the preparation. */
  readonly wantedFiles: ReadonlySet<string>;
  readonly wantedFolders: ReadonlySet<string>;
  /** As they are spelled. */
  readonly ownFolders: ReadonlySet<string>;
  /** Paths of another preparation's files, and the names of their root entries. */
  readonly earlier: ReadonlySet<string>;
}

function kindOf(entry: StickEntry, parent: string, sorting: Sorting): ContentKind {
  const name = entry.path.slice(entry.path.lastIndexOf('/') + 1);
  const folded = foldName(entry.path);
  if (parent === toolFolder) return toolNames.has(name) && entry.kind === 'file' ? 'record' : 'extra';
  if (ownFolders.includes(entry.path))
    return entry.kind === 'folder' || entry.path === stagingFolder ? 'record' : 'same-name';
  // One name to FAT, and somebody else's: it would be in the way of our own.
  if (ownNames.has(folded)) return 'same-name';
  if (sorting.wantedFiles.has(folded) || sorting.wantedFolders.has(folded)) return kindUnderWantedName(entry, sorting);
  if (isAppleDouble(name)) return 'twin';
  if (parent === '' && !sorting.sameJob && sorting.earlier.has(entry.path)) return 'earlier-preparation';
  if (entry.kind === 'file' && parent === '' && firmwareSign(name, sorting.glances.get(name), sorting))
    return 'other-firmware';
  const left = leftBySystem(name).kind;
  if (left !== undefined && !isOfPanel(left)) return left;
  if (parent !== '') return 'extra';
  if (left !== undefined) return left;
  if (entry.kind === 'folder' && isSetAsideFolder(name)) return 'set-aside';
  return isFirmware(entry, name, sorting) ? 'other-firmware' : 'stayed';
}

function kindUnderWantedName(entry: StickEntry, sorting: Sorting): ContentKind {
  if (entry.kind === 'folder') return sorting.ownFolders.has(entry.path) ? 'firmware' : 'same-name';
  if (sorting.kept.get(entry.path)?.stickPath === entry.path) return 'firmware';
  return sorting.sameJob && sorting.earlier.has(entry.path) ? 'damaged' : 'same-name';
}

/** A package, something shipped the way packages are, or the root of another mode's layout. */
function isFirmware(entry: StickEntry, name: string, sorting: Sorting): boolean {
  if (entry.kind === 'file') return sorting.isRecoveryFile(name) || looksLikeFirmware(name);
  const below = `${entry.path}/`;
  return (
    sorting.isPackageName(`${name}.zip`) ||
    sorting.entries.some(
      (other) => other.kind === 'file' && other.path.startsWith(below) && sorting.isRecoveryFile(other.path),
    )
  );
}

/** Bytes of all files below each folder. */
function folderSizes(entries: readonly StickEntry[]): ReadonlyMap<string, number> {
  const sizes = new Map<string, number>();
  for (const { path, bytes } of entries) {
    for (let parent = parentOf(path); parent !== ''; parent = parentOf(parent)) {
      sizes.set(parent, (sizes.get(parent) ?? 0) + bytes);
    }
  }
  return sizes;
}
