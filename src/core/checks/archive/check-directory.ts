import { type ArchiveShape, effectiveEnd } from '../../archive-format/read-end-records.ts';
import { type Finding, finding } from '../../findings/finding.ts';
import type { ArchiveFacts } from '../../model/archive-facts.ts';
import { checkDirectoryPlace, checkEndRecords, checkZip64End } from './check-end-records.ts';
import { checkEntryRecord, checkFileType } from './check-entry-record.ts';
import { checkName } from './check-name.ts';
import { checkTwins } from './check-twins.ts';

/** Everything that end records and directory show before any content is read, in the directory's order. */
export function checkDirectory(shape: ArchiveShape): readonly Finding[] {
  return [
    ...checkEndRecords(shape),
    ...checkZip64End(shape),
    ...checkDirectoryPlace(shape),
    ...shape.directory.records.flatMap((record) => [
      ...checkName(record, shape),
      ...checkFileType(record, shape),
      ...checkEntryRecord(record, shape),
    ]),
    ...checkTwins(shape),
    ...checkHoldsFiles(shape),
    ...checkExpansion(shape),
  ];
}

/** An archive without a single file updates nothing. */
function checkHoldsFiles(shape: ArchiveShape): readonly Finding[] {
  const { records } = shape.directory;
  // the directory could not be read, which is another fault
  if (records.length < effectiveEnd(shape).entries) return [];
  if (records.some((record) => !record.name.shown.endsWith('/'))) return [];
  return [finding('archive/no-files', '', { folders: records.length })];
}

const muchTimes = 100;
const muchBytes = 2 ** 30;

/**
 * Real firmware compresses well, empty partitions above all, so a large growth alone is no fault; what each entry may
 * become is bounded by the directory while it is read.
 */
function checkExpansion({ directory, fileBytes }: ArchiveShape): readonly Finding[] {
  const bytes = directory.records.reduce((sum, record) => sum + record.bytes, 0);
  if (bytes < muchBytes || bytes < fileBytes * muchTimes) return [];
  return [finding('archive/expands-much', '', { bytes, fileBytes })];
}

/** The file has the length that a person copied from the maker's page. */
export function checkLength(
  { fileName, bytes }: Pick<ArchiveFacts, 'fileName' | 'bytes'>,
  expectedBytes: number | undefined,
): readonly Finding[] {
  if (expectedBytes === undefined || expectedBytes === bytes) return [];
  return [finding('archive/length-differs', fileName, { fileBytes: bytes, expectedBytes })];
}
