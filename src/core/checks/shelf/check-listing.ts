import { type Finding, finding } from '../../findings/finding.ts';
import type { ShelvedPackage } from '../../shelf/shelf-record.ts';
import { alikeName } from '../../shelf/shelf-record.ts';

/** A folder on the shelf whose record cannot be used. */
export interface DamagedEntry {
  readonly id: string;
  /** The other files in it. */
  readonly files: readonly string[];
  readonly problem: string;
  /** The form of the record, where a later version of the tool wrote it. */
  readonly newer: string | undefined;
}

/** What is wrong with a shelf as it is listed, before any package is read. */
export function checkListing(
  packages: readonly ShelvedPackage[],
  damaged: readonly DamagedEntry[],
): readonly Finding[] {
  const byName = new Map<string, ShelvedPackage[]>();
  for (const one of packages) {
    const key = alikeName(one.record.name);
    byName.set(key, [...(byName.get(key) ?? []), one]);
  }
  const twice = [...byName.values()].flatMap((same) => {
    const contents = [...new Set(same.map(({ record }) => record.sha256))].toSorted();
    if (contents.length < 2) return [];
    return [finding('shelf/name-twice', same[0]?.record.name ?? '', { sha256: contents })];
  });
  const broken = damaged.map(({ id, files, problem, newer }) =>
    newer === undefined
      ? finding('shelf/record-damaged', id, { problem, files })
      : finding('shelf/record-newer', id, { schema: newer }),
  );
  return [...twice, ...broken];
}
