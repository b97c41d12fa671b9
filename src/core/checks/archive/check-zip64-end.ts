import type { ArchiveShape } from '../../archive-format/archive-shape.ts';
import { zip64Mark16, zip64Mark32 } from '../../archive-format/signatures.ts';
import { type Finding, finding } from '../../findings/finding.ts';

/** The Zip64 end record is where its locator says, ends at the locator, and does not contradict the end record. */
export function checkZip64End(shape: ArchiveShape): readonly Finding[] {
  const { zip64Locator: locator, zip64End, baseBytes } = shape;
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
  const differing = contradictions(shape);
  if (differing.length > 0) found.push(finding('archive/zip64-disagrees', '', { offset: shape.end.at, differing }));
  return found;
}

/** Fields of the end record that are not marked "see Zip64" and say something else (APPNOTE 4.4.1.4). */
function contradictions({ end, zip64End, zip64Locator }: ArchiveShape): readonly string[] {
  if (zip64End === undefined) return [];
  const fields = [
    { name: 'entries', mark: zip64Mark16 },
    { name: 'entriesOnDisk', mark: zip64Mark16 },
    { name: 'directoryBytes', mark: zip64Mark32 },
    { name: 'directoryOffset', mark: zip64Mark32 },
    { name: 'disk', mark: zip64Mark16 },
    { name: 'directoryDisk', mark: zip64Mark16 },
  ] as const;
  const differing = fields
    .filter(({ name, mark }) => end[name] !== mark && end[name] !== zip64End[name])
    .map(({ name }) => `${name} (${end[name]} or ${zip64End[name]})`);
  // Of how many parts the archive is: one; readers that see none do not follow the locator (APPNOTE 4.3.15).
  if (zip64Locator?.disks === 0) differing.push('parts (1 or 0)');
  // Both counts are of the same entries, so both are marked or neither.
  if ((end.entries === zip64Mark16) !== (end.entriesOnDisk === zip64Mark16))
    differing.push('the marks of the two counts');
  return differing;
}
