import type { ArchiveFacts } from '../model/archive-facts.ts';
import type { Origin } from '../model/layout-plan.ts';
import type { Mode } from '../model/mode.ts';
import { parentsOf } from './stick-names.ts';

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
