import type { ArchiveReach } from '../../archive-format/archive-reach.ts';
import { identifyFile } from '../../archive-format/identify-file.ts';
import type { CentralRecord } from '../../archive-format/read-central-directory.ts';
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

/** `objection`: why the second directory reader refused the archive; `found`: what was found without it. */
export function checkObjection(objection: string | undefined, found: readonly Finding[]): readonly Finding[] {
  // Where our own reader already stopped for a reason with a name, the library's words would only repeat it.
  if (objection === undefined || verdictOf(found) === 'not-ready') return [];
  return [finding('archive/library-objects', '', { objection })];
}

/** One directory record as the other reader sees it. */
export interface LibraryReading {
  readonly name: string;
  readonly flags: number;
  readonly method: number;
  readonly crc32: number;
  readonly compressedBytes: number;
  readonly bytes: number;
  readonly headerOffset: number;
}

const compared = ['flags', 'method', 'crc32', 'compressedBytes', 'bytes', 'headerOffset'] as const;

/** The directory's record number `index` as two independent readers see it; undefined where they agree. */
export function compareDirectoryReaders(
  own: CentralRecord | undefined,
  other: LibraryReading | undefined,
  index: number,
): Finding | undefined {
  const name = own?.name.shown ?? other?.name ?? '';
  const differing = whatDiffers(own, other);
  if (differing === undefined) return undefined;
  return finding('archive/readers-disagree', name, { entry: index + 1, about: differing });
}

function whatDiffers(own: CentralRecord | undefined, other: LibraryReading | undefined): string | undefined {
  if (own === undefined || other === undefined) return 'whether the entry is there at all';
  if (own.name.shown !== other.name) return `its name ("${own.name.shown}" or "${other.name}")`;
  const field = compared.find((key) => own[key] !== other[key]);
  return field === undefined ? undefined : `its ${field} (${own[field]} or ${other[field]})`;
}
