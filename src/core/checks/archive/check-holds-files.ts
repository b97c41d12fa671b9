import { type ArchiveShape, effectiveEnd } from '../../archive-format/archive-shape.ts';
import { type Finding, finding } from '../../findings/finding.ts';

/** An archive without a single file updates nothing. */
export function checkHoldsFiles(shape: ArchiveShape): readonly Finding[] {
  const { records } = shape.directory;
  if (records.length < effectiveEnd(shape).entries) return []; // the directory could not be read, which is another fault
  if (records.some((record) => !record.name.shown.endsWith('/'))) return [];
  return [finding('archive/no-files', '', { folders: records.length })];
}
