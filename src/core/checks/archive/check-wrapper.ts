import { type Finding, finding } from '../../findings/finding.ts';
import type { ArchiveFacts } from '../../model/archive-facts.ts';
import type { InnerGlance } from '../../model/file-glance.ts';
import type { Mode } from '../../model/mode.ts';
import { type FirmwareNames, firmwareSign, isOwnFirmware } from '../../plan/firmware-signs.ts';

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
 * The firmware is one level further in: in an inner archive that has its signs, while the tree around it holds nothing that a panel
 * installs; or nothing lies there but archives, perhaps with papers. An archive with firmware of its own may hold archives (apps beside
 * images): that is no wrapper. With a mode it stops, since in-OS the panel finds no firmware in the outer archive, and in recovery an
 * archive where its files should lie.
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
