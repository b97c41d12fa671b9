import type { ArchiveShape } from '../../archive-format/archive-shape.ts';
import { type Finding, finding } from '../../findings/finding.ts';

/** An archive without a single file updates nothing. */
export function checkHoldsFiles({ records }: ArchiveShape): readonly Finding[] {
  if (records.some((record) => !record.name.shown.endsWith('/'))) return [];
  return [finding('archive/no-files', '', { folders: records.length })];
}
