import type { RoundRecord } from '../../model/round-record.ts';

/** By when it was done, then by when it was noted; equal moments in the order of their ids, so that every desk sees one order. */
export function compareRecords(a: RoundRecord, b: RoundRecord): number {
  return (
    Date.parse(a.at) - Date.parse(b.at) || Date.parse(a.notedAt) - Date.parse(b.notedAt) || compareTexts(a.id, b.id)
  );
}

const compareTexts = (a: string, b: string): number => (a < b ? -1 : a > b ? 1 : 0);

export interface Union {
  /** In order, each id once. */
  readonly records: readonly RoundRecord[];
  /** Whole records whose id another content bears, too; not counted. */
  readonly rivals: readonly RoundRecord[];
}

/**
 * All records, each id once. Two contents under one id cannot come from this tool; of them the one with the smaller digest
 * counts, so that the answer is the same in whichever order they came.
 */
export function uniteRecords(all: Iterable<RoundRecord>): Union {
  const byId = new Map<string, RoundRecord>();
  const rivals: RoundRecord[] = [];
  for (const record of all) {
    const known = byId.get(record.id);
    if (known?.selfSha256 === record.selfSha256) continue;
    if (known === undefined || record.selfSha256 < known.selfSha256) byId.set(record.id, record);
    if (known !== undefined) rivals.push(record.selfSha256 < known.selfSha256 ? known : record);
  }
  const records = [...byId.values()].toSorted(compareRecords);
  const seen = new Set<string>();
  const distinct = rivals.filter(({ selfSha256 }) => !seen.has(selfSha256) && seen.add(selfSha256));
  return { records, rivals: distinct.toSorted((a, b) => compareTexts(a.selfSha256, b.selfSha256)) };
}
