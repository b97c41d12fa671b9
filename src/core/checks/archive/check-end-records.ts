import { type ArchiveShape, effectiveEnd, endOfComment } from '../../archive-format/read-end-records.ts';
import { zip64Sentinel16, zip64Sentinel32 } from '../../archive-format/signatures.ts';
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

/** The Zip64 end record is where its locator says, ends at the locator, and does not contradict the end record. */
export function checkZip64End(shape: ArchiveShape): readonly Finding[] {
  const { end, zip64Locator: locator, zip64End, baseBytes } = shape;
  if (locator === undefined) return [];
  const found: Finding[] = [];
  if (locator.disk !== 0 || locator.disks > 1) {
    found.push(finding('archive/split-set', '', { offset: locator.at, part: locator.disk + 1 }));
  }
  if (zip64End === undefined) {
    return [
      ...found,
      finding('archive/zip64-record-missing', '', { offset: locator.recordOffset, locatorOffset: locator.at }),
    ];
  }
  if (zip64End.at + zip64End.length !== locator.at || zip64End.at !== locator.recordOffset + baseBytes) {
    found.push(finding('archive/zip64-record-misplaced', '', { offset: zip64End.at, locatorOffset: locator.at }));
  }
  const differing = contradictions(end, zip64End, locator.disks);
  if (differing.length > 0) found.push(finding('archive/zip64-disagrees', '', { offset: end.at, differing }));
  return found;
}

/** Fields of the end record that are not marked "see Zip64" and say something else (APPNOTE 4.4.1.4). */
function contradictions(
  end: ArchiveShape['end'],
  zip64End: NonNullable<ArchiveShape['zip64End']>,
  disks: number,
): readonly string[] {
  const fields = [
    { name: 'entries', mark: zip64Sentinel16 },
    { name: 'entriesOnDisk', mark: zip64Sentinel16 },
    { name: 'directoryBytes', mark: zip64Sentinel32 },
    { name: 'directoryOffset', mark: zip64Sentinel32 },
    { name: 'disk', mark: zip64Sentinel16 },
    { name: 'directoryDisk', mark: zip64Sentinel16 },
  ] as const;
  const differing = fields
    .filter(({ name, mark }) => end[name] !== mark && end[name] !== zip64End[name])
    .map(({ name }) => `${name} (${end[name]} or ${zip64End[name]})`);
  // Of how many parts the archive is: one; readers that see none do not follow the locator (APPNOTE 4.3.15).
  if (disks === 0) differing.push('parts (1 or 0)');
  // Both counts are of the same entries, so both are marked or neither.
  if ((end.entries === zip64Sentinel16) !== (end.entriesOnDisk === zip64Sentinel16))
    differing.push('the marks of the two counts');
  return differing;
}

/** The directory is where the end record says, as long as it says, and holds as many records as it says. */
export function checkDirectoryPlace(shape: ArchiveShape): readonly Finding[] {
  const { directory, directoryAt, directoryLimit, baseBytes } = shape;
  const stated = effectiveEnd(shape);
  const found: Finding[] = [];
  if (directory.stoppedBy !== undefined && directory.records.length < stated.entries) {
    const facts = { entry: directory.records.length + 1, offset: directory.endsAt };
    found.push(finding('archive/directory-damaged', '', facts));
  }
  if (directory.records.length !== stated.entries || stated.entriesOnDisk !== stated.entries) {
    const facts = { stated: stated.entries, present: directory.records.length, offset: stated.at };
    found.push(finding('archive/count-lies', '', facts));
  }
  // An unread tail between the last record and the end records is no part of any archive that is made today.
  const presentBytes = directory.endsAt - directoryAt;
  const misplaced = directoryAt !== stated.directoryOffset + baseBytes;
  if (misplaced || presentBytes !== stated.directoryBytes || directory.endsAt !== directoryLimit) {
    const facts = {
      statedOffset: stated.directoryOffset,
      statedBytes: stated.directoryBytes,
      offset: directoryAt,
      bytes: presentBytes,
      leftBytes: directoryLimit - directory.endsAt,
    };
    found.push(finding('archive/directory-misplaced', '', facts));
  }
  return found;
}
