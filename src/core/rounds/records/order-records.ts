import type { RoundRecord } from '../../model/round-record.ts';
import { canonicalForm } from '../../sealed/sealed-document.ts';

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
  /** Whole records under whose id another thing is said; not counted. */
  readonly rivals: readonly RoundRecord[];
}

/**
 * All records, each id once. One filled-in list that is given at two desks makes the same ids there, with other times and
 * names; anything else under one id cannot come from this tool. Of several the one with the smallest digest counts, so that
 * the answer is the same in whichever order they came.
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
  const distinct = rivals.filter((rival) => {
    const counts = byId.get(rival.id);
    const isNew = !seen.has(rival.selfSha256);
    seen.add(rival.selfSha256);
    return isNew && counts !== undefined && whatIsSaid(rival) !== whatIsSaid(counts);
  });
  return { records, rivals: distinct.toSorted((a, b) => compareTexts(a.selfSha256, b.selfSha256)) };
}

/** All but who noted it and when. */
const whatIsSaid = (record: RoundRecord): string => canonicalForm({ ...record, at: '', notedAt: '', who: '' });
