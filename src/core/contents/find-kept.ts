import { stagingFolder } from '../manifest/stick-names.ts';
import type { Manifest } from '../model/manifest.ts';
import type { StickEntry } from '../model/stick-facts.ts';
import type { WantedFile, WantedTree } from './wanted-tree.ts';

/** SHA-256 (lower hex) and CRC-32 of files that are already on the stick, by path as the stick spells it. */
export type ProvenContent = ReadonlyMap<string, { readonly sha256: string; readonly crc32: number }>;

/** Wanted files whose right content is already on the stick, by wanted path. */
export type Kept = ReadonlyMap<string, { readonly stickPath: string; readonly staged: boolean }>;

interface OnStick {
  readonly wanted: WantedTree;
  readonly entries: readonly StickEntry[];
  readonly manifest: Manifest | undefined;
  readonly sameJob: boolean;
}

interface Candidate {
  readonly file: WantedFile;
  readonly entry: StickEntry;
  readonly staged: boolean;
}

/**
 * Files on the stick that may already be right: under the right path, or left by an unfinished run, and of the right
 * size. Their content must be read before they are kept. A whole archive can only be proven by an earlier manifest.
 */
export function keepCandidates({ wanted, entries, manifest, sameJob }: OnStick): readonly Candidate[] {
  const files = new Map(entries.filter(({ kind }) => kind === 'file').map((entry) => [entry.path, entry]));
  const candidates: Candidate[] = [];
  for (const file of wanted.files) {
    if (file.origin.from === 'archive' && !(sameJob && manifest !== undefined)) continue;
    for (const staged of [false, true]) {
      const path = staged ? `${stagingFolder}/${file.path}` : file.path;
      const entry = files.get(path);
      if (entry?.bytes === file.bytes) candidates.push({ file, entry, staged });
    }
  }
  return candidates;
}

/** Of the candidates, those that hold what the archive's directory (or the earlier manifest) says. */
export function findKept(onStick: OnStick, proven: ProvenContent): Kept {
  const kept = new Map<string, { stickPath: string; staged: boolean }>();
  for (const { file, entry, staged } of keepCandidates(onStick)) {
    const content = proven.get(entry.path);
    if (content === undefined || kept.has(file.path)) continue;
    const right =
      file.origin.from === 'entry'
        ? content.crc32 === file.origin.crc32
        : content.sha256 === onStick.manifest?.archive.sha256;
    if (right) kept.set(file.path, { stickPath: entry.path, staged });
  }
  return kept;
}
