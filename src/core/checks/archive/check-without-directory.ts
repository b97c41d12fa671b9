import type { ArchiveReach } from '../../archive-format/archive-reach.ts';
import { identifyFile } from '../../archive-format/identify-file.ts';
import { signatures } from '../../archive-format/signatures.ts';
import { viewOf } from '../../archive-format/view-of.ts';
import { type Finding, finding } from '../../findings/finding.ts';

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
  if (signature === signatures.localHeader || isStartOfMark(head))
    return [finding('archive/cut-off', '', { fileBytes, reach })];
  // The first part of a split set starts with this mark (APPNOTE 8.5.3).
  if (signature === signatures.dataDescriptor) return [finding('archive/split-set', '', { offset: 0, part: 1 })];
  const { kind, firstLine } = identifyFile(head, last);
  return [finding('archive/not-a-zip', '', { kind, firstLine, fileBytes })];
}

/** Two or three bytes of the first mark: a download that stopped as soon as it had begun. */
const isStartOfMark = (head: Uint8Array): boolean => {
  const mark = [0x50, 0x4b, 0x03]; // signatures.localHeader, as its bytes lie in a file
  return head.length >= 2 && head.length <= mark.length && head.every((byte, at) => byte === mark[at]);
};
