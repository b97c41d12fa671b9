import { type Finding, finding } from '../../findings/finding.ts';
import type { ArchiveFacts } from '../../model/archive-facts.ts';
import type { Mode } from '../../model/mode.ts';

const macFolder = /(^|\/)__MACOSX\//i;
const isTwin = (name: string): boolean => name.split('/').at(-1)?.startsWith('._') === true;

/**
 * What macOS puts into archives that were not in what was packed: `__MACOSX`, with a twin of every file, and where the medium could hold no
 * attributes twins right beside the files. A maker who builds firmware on a Mac may ship such an archive; more often somebody unpacked and zipped it again.
 * WANTED: the family says that such a file belongs at the root.
 */
export function checkMadeOnMac(
  { fileName, entries }: ArchiveFacts,
  mode: Mode | undefined,
  wanted: (name: string) => boolean,
): readonly Finding[] {
  const files = entries.filter(({ folder }) => !folder).map(({ name }) => name);
  const inFolder = files.filter((name) => macFolder.test(name));
  const twins = files.filter((name) => isTwin(name) && !macFolder.test(name) && !wanted(name));
  return [
    ...(twins.length === 0
      ? []
      : mode === 'recovery'
        ? [finding('archive/hidden-twins', fileName, { paths: twins })]
        : [finding('archive/hidden-twins-seen', fileName, { paths: twins })]),
    ...(inFolder.length === 0
      ? []
      : [finding('archive/mac-folder', fileName, { files: inFolder.length, of: files.length })]),
  ];
}
