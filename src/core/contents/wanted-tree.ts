import picomatch from 'picomatch';
import { readPackageName } from '../label/read-label.ts';
import { parentsOf } from '../manifest/stick-names.ts';
import type { ArchiveFacts } from '../model/archive-facts.ts';
import type { Family } from '../model/family.ts';
import type { Origin } from '../model/layout-plan.ts';
import type { Mode } from '../model/mode.ts';
import { type FirmwareNames, holdsAll } from './firmware-signs.ts';

export interface WantedFile {
  readonly path: string;
  readonly bytes: number;
  readonly origin: Origin;
}

/** What the panel must find on the stick. */
export interface WantedTree {
  /** In the order of their bytes in the archive, so that one pass can write them. */
  readonly files: readonly WantedFile[];
  /** Every folder that must be there, parents first. */
  readonly folders: readonly string[];
}

/**
 * `in-os`: the archive whole, at the root, under its own name. `recovery`: the archive's own tree at the root, nothing
 * nested deeper or shallower than the archive has it.
 */
export function wantedTree(mode: Mode, archive: ArchiveFacts): WantedTree {
  switch (mode) {
    case 'in-os':
      return { files: [{ path: archive.fileName, bytes: archive.bytes, origin: { from: 'archive' } }], folders: [] };
    case 'recovery':
      return extractedTree(archive);
  }
}

function extractedTree(archive: ArchiveFacts): WantedTree {
  const files: WantedFile[] = [];
  const folders = new Set<string>();
  for (const entry of archive.entries) {
    const path = entry.name.replace(/\/+$/, '');
    if (path === '') continue;
    for (const folder of parentsOf(path)) folders.add(folder);
    if (entry.folder) folders.add(path);
    else files.push({ path, bytes: entry.bytes, origin: { from: 'entry', name: entry.name, crc32: entry.crc32 } });
  }
  return { files, folders: [...folders].sort() };
}

/** True for paths, relative to the stick's root, that one of the patterns matches; case does not count on FAT. */
export const globTest = (patterns: readonly string[]): ((path: string) => boolean) =>
  picomatch([...patterns], { nocase: true, dot: true });

/** Tells paths that some family wants at the root of a recovery stick from all others. */
const recoveryFileTest = (families: readonly Family[]): ((path: string) => boolean) =>
  globTest(families.flatMap(({ modes }) => modes.recovery?.['required-at-root'] ?? []));

/** True where all that one of the families wants for a recovery is among the paths, in whatever folder. */
function recoveryTreeTest(families: readonly Family[]): (paths: readonly string[]) => boolean {
  const wanted = families.map(({ modes }) =>
    (modes.recovery?.['required-at-root'] ?? []).map((one) => globTest([one])),
  );
  return (paths) => wanted.some((tests) => holdsAll(paths, tests));
}

/** What the families say of the names that firmware has. */
export const namesOfFamilies = (families: readonly Family[]): FirmwareNames => ({
  isPackageName: (name) => readPackageName(name, families).readings.length > 0,
  isRecoveryFile: recoveryFileTest(families),
  isRecoveryTree: recoveryTreeTest(families),
});
