import type { ArchiveShape } from '../../archive-format/archive-shape.ts';
import { type Finding, finding } from '../../findings/finding.ts';

const muchTimes = 100;
const muchBytes = 2 ** 30;

/**
 * Real firmware compresses well, empty partitions above all, so a large growth alone is no fault; what each entry may
 * become is bounded by the directory while it is read.
 */
export function checkExpansion({ directory, fileBytes }: ArchiveShape): readonly Finding[] {
  const bytes = directory.records.reduce((sum, record) => sum + record.bytes, 0);
  if (bytes < muchBytes || bytes < fileBytes * muchTimes) return [];
  return [finding('archive/expands-much', '', { bytes, fileBytes })];
}
