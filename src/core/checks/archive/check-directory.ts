import type { ArchiveShape } from '../../archive-format/archive-shape.ts';
import type { Finding } from '../../findings/finding.ts';
import { checkDirectoryPlace } from './check-directory-place.ts';
import { checkEndRecords } from './check-end-records.ts';
import { checkEntryRecord } from './check-entry-record.ts';
import { checkExpansion } from './check-expansion.ts';
import { checkFileType } from './check-file-type.ts';
import { checkHoldsFiles } from './check-holds-files.ts';
import { checkName } from './check-name.ts';
import { checkTwins } from './check-twins.ts';
import { checkZip64End } from './check-zip64-end.ts';

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
