import { type ArchiveShape, effectiveEnd } from '../../archive-format/archive-shape.ts';
import { type Finding, finding } from '../../findings/finding.ts';

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
