import { isSetAsideFolder, parentOf, rootOf, toolNames } from '../manifest/stick-names.ts';
import type { Manifest } from '../model/manifest.ts';
import type { StickEntry } from '../model/stick-facts.ts';
import { foldName } from '../volume-format/fat-name.ts';
import { isWithin } from './clear-items.ts';
import type { LeftKind } from './content-kinds.ts';
import { isAppleDouble, leftBySystem } from './left-by-systems.ts';

export interface SortedEntry extends StickEntry {
  readonly what: LeftKind;
  /** It came after the stick was prepared. */
  readonly isNew: boolean;
}

interface Sorting {
  readonly files: ReadonlySet<string>;
  readonly folders: ReadonlySet<string>;
  /** Root entries that were there when the stick was prepared. */
  readonly before: ReadonlySet<string>;
  /** Where the preparation set things aside. */
  readonly aside: ReadonlySet<string>;
  readonly toolFolder: string;
  /** Folders at the root, folded, with content somewhere below. */
  readonly filled: ReadonlySet<string>;
}

/**
 * All that lies on a stick that came back. Without a manifest only an empty folder of the tool, at TOOL FOLDER, is
 * known to be its own: the last thing that clearing takes away.
 */
export function sortReturned(
  entries: readonly StickEntry[],
  manifest: Manifest | undefined,
  toolFolder: string,
): readonly SortedEntry[] {
  if (manifest !== undefined) return sortContents(entries, manifest, toolFolder).map(asOdd);
  return entries.map((entry) => ({ ...entry, what: entry.path === toolFolder ? 'record' : 'stayed', isNew: false }));
}

/** What cannot be opened is not taken for something by its name: it is neither kept at the desk nor cleared away. */
const asOdd = (entry: SortedEntry): SortedEntry =>
  entry.odd === undefined || (entry.odd !== 'name' && (entry.what === 'firmware' || entry.what === 'record'))
    ? entry
    : { ...entry, what: entry.isNew ? 'unexplained' : 'stayed' };

/**
 * Sorts every entry; TOOL FOLDER is where the manifest lies. Paths of the manifest count only as they are spelled
 * there.
 */
export function sortContents(
  entries: readonly StickEntry[],
  manifest: Manifest,
  toolFolder: string,
): readonly SortedEntry[] {
  const folders = new Set(manifest.folders);
  for (const path of [...manifest.files.map((file) => file.path), ...manifest.folders]) {
    for (let parent = parentOf(path); parent !== ''; parent = parentOf(parent)) folders.add(parent);
  }
  const sorting: Sorting = {
    files: new Set(manifest.files.map(({ path }) => path)),
    folders,
    before: new Set([...manifest.untouched.map(({ path }) => path), ...manifest.setAside.map(({ to }) => rootOf(to))]),
    aside: new Set(manifest.setAside.map(({ to }) => to)),
    toolFolder,
    filled: new Set(entries.filter(hasContent).map(({ path }) => foldName(rootOf(path)))),
  };
  return entries.map((entry) => sortEntry(entry, sorting));
}

const hasContent = ({ path, bytes }: StickEntry): boolean => bytes > 0 && foldName(nameOf(path)) !== '.NOMEDIA';

function sortEntry(entry: StickEntry, sorting: Sorting): SortedEntry {
  const isStranger = isSetAsideFolder(rootOf(entry.path)) && !isAside(entry, sorting);
  const isNew = isStranger || !sorting.before.has(rootOf(entry.path));
  const what = kindOf(entry, sorting);
  const wasThere = !isNew && (what === 'unexplained' || what === 'panel-log' || what === 'desk-bin');
  return { ...entry, what: wasThere ? 'stayed' : what, isNew };
}

function kindOf(entry: StickEntry, sorting: Sorting): LeftKind {
  const { path, kind } = entry;
  if (path === sorting.toolFolder || path.startsWith(`${sorting.toolFolder}/`)) return kindOfRecord(entry, sorting);
  if ((kind === 'file' ? sorting.files : sorting.folders).has(path)) return 'firmware';
  const top = topOf(path, sorting);
  return kindByTop(entry, top, sorting);
}

function kindOfRecord({ path, kind }: StickEntry, { toolFolder }: Sorting): LeftKind {
  if (path === toolFolder) return 'record';
  const isOwn = kind === 'file' && parentOf(path) === toolFolder && toolNames.has(nameOf(path));
  return isOwn ? 'record' : 'unexplained';
}

/** The part of a path that lies outside the firmware's own folders, from its first name on. */
function topOf(path: string, { folders }: Sorting): string {
  let top = path;
  while (parentOf(top) !== '' && !folders.has(parentOf(top))) top = parentOf(top);
  return top;
}

function kindByTop(entry: StickEntry, top: string, sorting: Sorting): LeftKind {
  const isEmpty = !hasContent(entry);
  const isInside = entry.path !== top;
  const isFolder = isInside || entry.kind === 'folder';
  const beside = (): LeftKind => kindBeside(entry, top, sorting);
  switch (leftBySystem(top).returned) {
    case 'panel-folder':
      // A file of that name is nobody's folder.
      return !isFolder ? 'unexplained' : isEmpty ? 'panel-mark' : 'panel-file';
    case 'media-folder':
      if (!isFolder) return beside();
      return sorting.filled.has(foldName(top)) || sorting.before.has(top) ? 'unexplained' : 'panel-mark';
    case 'log-folder':
      return !isFolder ? beside() : isEmpty ? 'panel-mark' : 'panel-log';
    case 'bin':
      return isEmpty || isDeskMark(entry.path) ? 'desk-mark' : 'desk-bin';
    case 'index-folder':
      return 'desk-mark';
    case 'windows-folder':
      return kindInWindowsFolder(entry, isInside);
    case 'windows-file':
    case 'index-file':
    case 'elsewhere':
      return beside();
  }
}

/** Set aside by this preparation or by one before it; not what somebody added. */
function isAside({ path, kind }: StickEntry, { aside, before }: Sorting): boolean {
  const isHolder = kind === 'folder' && [...aside].some((to) => to.startsWith(`${path}/`));
  const byThis = [...aside].some((to) => rootOf(to) === rootOf(path));
  return isWithin(path, aside) || isHolder || (before.has(rootOf(path)) && !byThis);
}

function kindInWindowsFolder({ path, kind }: StickEntry, isInside: boolean): LeftKind {
  if (kind === 'folder') return 'desk-mark';
  return isInside && leftBySystem(nameOf(path)).returned === 'windows-file' ? 'desk-mark' : 'unexplained';
}

function kindBeside({ path, kind }: StickEntry, top: string, { files, folders }: Sorting): LeftKind {
  if (path !== top || kind === 'folder') return 'unexplained';
  if (isDeskMark(path)) return 'desk-mark';
  const name = nameOf(path);
  if (isAppleDouble(name)) {
    const real = `${path.slice(0, path.length - name.length)}${name.slice(2)}`;
    return files.has(real) || folders.has(real) ? 'twin' : 'unexplained';
  }
  return isLogName(name) ? 'panel-log' : 'unexplained';
}

const isDeskMark = (path: string): boolean => leftBySystem(nameOf(path)).returned === 'index-file';
const nameOf = (path: string): string => path.slice(path.lastIndexOf('/') + 1);

/**
 * Logs, dumps and an updater's notes of how it went: `last_log` and `last_install` as AOSP recovery names them,
 * `bugreport-…` as dumpstate does, `tombstone_…` as tombstoned does, `…-ramoops` as the kernel's pstore does; the rest
 * is common practice.
 */
const logNames: readonly RegExp[] = [
  /\.(log|logcat|dmp|dump|trace|trc|kmsg)(\.\d+)?(\.(gz|zip|bz2|xz))?$/i,
  /^(last_log|last_install|last_kmsg|kmsg|dmesg|logcat|klog|mlog)([._-][\w.-]*)?$/i,
  /^(bugreport|dumpstate|tombstone_|anr_|traces?)[\w.-]*\.?(zip|txt|pb)?$/i,
  /^(console|dmesg|pmsg|ftrace)-ramoops(-\d+)?$/i,
  /^core(\.\d+)?$/i,
  /^(update|updater|upgrade|ota|install|flash|recovery)[ _-]?(status|result|state|report|error|progress|done|ok|fail(ed)?)(\.(txt|xml|json|ini|dat))?$/i,
];

export const isLogName = (name: string): boolean => logNames.some((pattern) => pattern.test(name));
