import { type ArchiveShape, effectiveEnd } from '../../archive-format/archive-shape.ts';
import { endOfComment } from '../../archive-format/choose-end-record.ts';
import { type Finding, finding } from '../../findings/finding.ts';

/** There is exactly one end record, it ends with the file, and it belongs to an archive in one part (APPNOTE 4.3.6). */
export function checkEndRecords(shape: ArchiveShape): readonly Finding[] {
  const { ends, end, fileBytes } = shape;
  const found: Finding[] = [];
  const overBytes = endOfComment(end) - fileBytes;
  if (overBytes > 0) found.push(finding('archive/comment-cut-off', '', { missingBytes: overBytes, fileBytes }));
  if (overBytes < 0)
    found.push(finding('archive/bytes-after-last', '', { bytes: -overBytes, offset: fileBytes + overBytes }));
  const rival = ends.find((other) => other !== end && endOfComment(other) === fileBytes);
  if (rival !== undefined) {
    found.push(finding('archive/two-end-records', '', { offset: rival.at, otherOffset: end.at }));
  } else {
    const offset = shape.lastEndMarkAt;
    if (offset > end.at) found.push(finding('archive/end-record-in-comment', '', { offset, endRecordOffset: end.at }));
  }
  const { disk, directoryDisk, at } = effectiveEnd(shape);
  if (disk !== 0 || directoryDisk !== 0) found.push(finding('archive/split-set', '', { offset: at, part: disk + 1 }));
  return found;
}
