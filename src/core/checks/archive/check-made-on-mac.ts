import { type Finding, finding } from '../../findings/finding.ts';
import type { ArchiveFacts } from '../../model/archive-facts.ts';
import { type Mode, modeTraits } from '../../model/mode.ts';

const macFolder = /(^|\/)__MACOSX\//i;
/** The file that a twin belongs to, by name; undefined where it is none. */
const twinOf = (name: string): string | undefined =>
  /(^|\/)\._[^/]+$/.test(name) ? name.replace(/\._([^/]+)$/, '$1') : undefined;

/**
 * What macOS puts into archives that were not in what was packed: `__MACOSX`, with a twin of every file, and where the
 * medium could hold no attributes twins right beside the files. A maker who builds firmware on a Mac may ship such an
 * archive; more often somebody unpacked and zipped it again. WANTED: the family says that such a file belongs at the
 * root; a pattern such as `images/*.img` says that of twins too, so it counts only where there is no file to be the
 * twin of.
 */
export function checkMadeOnMac(
  { fileName, entries }: ArchiveFacts,
  mode: Mode | undefined,
  wanted: (name: string) => boolean,
): readonly Finding[] {
  const files = entries.filter(({ folder }) => !folder).map(({ name }) => name);
  const inFolder = files.filter((name) => macFolder.test(name));
  const names = new Set(files);
  const twins = files.filter((name) => {
    const original = twinOf(name);
    return original !== undefined && !macFolder.test(name) && (names.has(original) || !wanted(name));
  });
  return [
    ...(twins.length === 0
      ? []
      : mode !== undefined && modeTraits[mode].isExtracted
        ? [finding('archive/hidden-twins', fileName, { paths: twins })]
        : [finding('archive/hidden-twins-seen', fileName, { paths: twins })]),
    ...(inFolder.length === 0
      ? []
      : [finding('archive/mac-folder', fileName, { files: inFolder.length, of: files.length })]),
  ];
}
