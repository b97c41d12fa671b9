import type { ArchiveReach } from '../../archive-format/archive-reach.ts';
import { identifyFile } from '../../archive-format/identify-file.ts';
import type { ReadersDiffer } from '../../archive-format/reading-facts.ts';
import { signatures, viewOf } from '../../archive-format/signatures.ts';
import { type Finding, finding, verdictOf } from '../../findings/finding.ts';

/** What a file without an end record is: empty, cut off, or something else under an archive's name. */
export function checkWithoutDirectory(
  head: Uint8Array,
  last: Uint8Array,
  fileBytes: number,
  reach?: ArchiveReach,
): readonly Finding[] {
  if (fileBytes === 0) return [finding('archive/empty-file', '')];
  if (head.every((byte) => byte === 0)) return [finding('archive/placeholder', '', { fileBytes })];
  const signature = head.length >= 4 ? viewOf(head).getUint32(0, true) : 0;
  if (signature === signatures.localHeader || isStartOfSignature(head))
    return [finding('archive/cut-off', '', { fileBytes, reach })];
  // The first part of a split set starts with this mark (APPNOTE 8.5.3).
  if (signature === signatures.dataDescriptor) return [finding('archive/split-set', '', { offset: 0, part: 1 })];
  const { kind, firstLine } = identifyFile(head, last);
  return [finding('archive/not-a-zip', '', { kind, firstLine, fileBytes })];
}

/** Two or three bytes of the first mark: a download that stopped as soon as it had begun. */
const isStartOfSignature = (head: Uint8Array): boolean => {
  const mark = [0x50, 0x4b, 0x03]; // signatures.localHeader, as its bytes lie in a file
  return head.length >= 2 && head.every((byte, at) => byte === mark[at]);
};

/** `objection`: why the second directory reader refused the archive; `found`: what was found without it. */
export function checkObjection(objection: string | undefined, found: readonly Finding[]): readonly Finding[] {
  // Where our own reader already stopped for a reason with a name, the library's words would only repeat it.
  if (objection === undefined || verdictOf(found) === 'not-ready') return [];
  return [finding('archive/library-objects', '', { objection })];
}

/** Where the second reader of the directory saw something else than our own. */
export const checkReaders = (differs: ReadersDiffer | undefined): readonly Finding[] =>
  differs === undefined
    ? []
    : [finding('archive/readers-disagree', differs.name, { entry: differs.entry, about: differs.about })];

/** An end record that is not the file's own is that of an archive stored inside one that was cut off. */
export const checkForeignEnd = (fileBytes: number, reach: ArchiveReach | undefined): readonly Finding[] =>
  reach?.cut === 'entry' ? [finding('archive/cut-off', '', { fileBytes, reach })] : [];
