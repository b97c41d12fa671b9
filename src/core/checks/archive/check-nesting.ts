import type { Nesting } from '../../archive-format/reading-facts.ts';
import { largestDeflateRatio } from '../../archive-format/signatures.ts';
import { type FirmwareNames, firmwareSign, isOwnFirmware } from '../../contents/firmware-signs.ts';
import { type Finding, finding } from '../../findings/finding.ts';
import type { ArchiveEntry, ArchiveFacts } from '../../model/archive-facts.ts';
import { type Mode, modeTraits } from '../../model/mode.ts';
import type { InnerGlance } from '../../model/stick-facts.ts';

const muchBytes = 2 ** 30;

/**
 * An archive in an archive is common and harmless, also one of an empty partition that unpacks to gigabytes. From the
 * second level on, growth beyond what packing once can do has no honest use.
 */
export function checkNesting(entry: ArchiveEntry, { depth, bytes, endless }: Nesting): readonly Finding[] {
  const grows = depth > 1 && bytes >= muchBytes && bytes > entry.compressedBytes * largestDeflateRatio;
  if (!grows && !endless) return [];
  return [finding('archive/archives-in-archives', entry.name, { depth, bytes: endless ? undefined : bytes })];
}

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
  return mode !== undefined && modeTraits[mode].isExtracted
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

const archives = /\.(zip|rar|7z|tar|tgz|tar\.(gz|xz|bz2|zst))$/i;
const papers =
  /\.(pdf|txt|md|html?|docx?|odt|rtf|xlsx?|csv|pptx?|png|jpe?g|gif|mp4|url|webloc|sha(1|256|512)(sum)?|md5(sum)?|asc|sig)$|(^|\/)(readme|license|licence|changelog|(sha(1|256|512)|md5)sums?|\.DS_Store|Thumbs\.db|desktop\.ini)$|(^|\/)\._|^__MACOSX\//i;

export interface WrapperUse {
  readonly mode: Mode | undefined;
  /** The family says that such a file belongs at the root. */
  readonly wantedAtRoot: (path: string) => boolean;
  readonly names: FirmwareNames;
}

/**
 * The firmware is one level further in: in an inner archive that has its signs, while the tree around it holds nothing
 * that a panel installs; or nothing lies there but archives, perhaps with papers. An archive with firmware of its own
 * may hold archives (apps beside images): that is no wrapper. With a mode it stops, since in-OS the panel finds no
 * firmware in the outer archive, and in recovery an archive where its files should lie.
 */
export function checkWrapper(facts: ArchiveFacts, { mode, wantedAtRoot, names }: WrapperUse): readonly Finding[] {
  const files = facts.entries.filter(({ folder }) => !folder).map(({ name }) => name);
  const looked = new Map((facts.inner ?? []).map((glance) => [glance.name, glance]));
  const isPaper = (name: string): boolean => papers.test(name);
  const isInner = (name: string): boolean => !isPaper(name) && (archives.test(name) || isArchive(looked.get(name)));
  const inner = files.filter(isInner);
  const others = files.filter((name) => !isInner(name));
  if (inner.length === 0 || files.some(wantedAtRoot) || isOwnFirmware(others)) return [];
  const signed = inner.filter((name) => firmwareSign(name, looked.get(name), names) !== undefined);
  if (signed.length === 0 && !others.every(isPaper)) return [];
  const found = { inner: signed.length > 0 ? signed : inner, papers: others.length };
  return mode === undefined
    ? [finding('archive/wrapper-seen', facts.fileName, found)]
    : [finding('archive/wrapper', facts.fileName, found)];
}

const isArchive = (glance: InnerGlance | undefined): boolean => glance !== undefined && glance.names.length > 0;
