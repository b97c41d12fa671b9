import type { CentralRecord } from '../../archive-format/read-central-directory.ts';
import { type Finding, finding } from '../../findings/finding.ts';

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
