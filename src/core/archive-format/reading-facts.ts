import type { ArchiveEntry } from '../model/archive-facts.ts';
import type { ArchiveReach } from './archive-reach.ts';
import type { CentralRecord, EntryName } from './read-central-directory.ts';
import type { ArchiveShape } from './read-end-records.ts';
import type { LocalHeader } from './read-local-header.ts';

/** A file as far as it can be understood without reading its content. */
export type DirectoryFacts =
  | {
      readonly kind: 'no-end-record';
      readonly fileBytes: number;
      /** Both ends, as much as tells what a file is. */
      readonly head: Uint8Array;
      readonly last: Uint8Array;
      readonly reach: ArchiveReach | undefined;
    }
  | { readonly kind: 'directory-too-large'; readonly directoryBytes: number }
  | { readonly kind: 'too-many-entries'; readonly statedEntries: number }
  | {
      readonly kind: 'archive';
      readonly shape: ArchiveShape;
      readonly library: LibraryFacts;
      /** How far the local headers lead, where the end record may be that of another archive, stored inside. */
      readonly reach: ArchiveReach | undefined;
    };

/** What the second reader of the directory saw otherwise than the first, and why it refused the archive. */
export interface LibraryFacts {
  readonly differs: ReadersDiffer | undefined;
  readonly objection: string | undefined;
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

export interface ReadersDiffer {
  readonly name: string;
  /** From 1. */
  readonly entry: number;
  readonly about: string;
}

const compared = ['flags', 'method', 'crc32', 'compressedBytes', 'bytes', 'headerOffset'] as const;

/** The directory's record number `index` as two independent readers see it; undefined where they agree. */
export function compareDirectoryReaders(
  own: CentralRecord | undefined,
  other: LibraryReading | undefined,
  index: number,
): ReadersDiffer | undefined {
  const about = whatDiffers(own, other);
  return about === undefined ? undefined : { name: own?.name.shown ?? other?.name ?? '', entry: index + 1, about };
}

function whatDiffers(own: CentralRecord | undefined, other: LibraryReading | undefined): string | undefined {
  if (own === undefined || other === undefined) return 'whether the entry is there at all';
  if (own.name.shown !== other.name) return `its name ("${own.name.shown}" or "${other.name}")`;
  const field = compared.find((key) => own[key] !== other[key]);
  return field === undefined ? undefined : `its ${field} (${own[field]} or ${other[field]})`;
}

/**
 * One thing that only reading the file from its first byte to its last shows. `place` orders them as they lie in the
 * file.
 */
export type PassFact = { readonly place: number } & (
  | {
      readonly kind: 'local-header';
      readonly record: CentralRecord;
      readonly offset: number;
      readonly local: LocalHeader;
      readonly name: EntryName;
    }
  | { readonly kind: 'header-missing'; readonly entry: ArchiveEntry }
  | {
      readonly kind: 'content';
      readonly entry: ArchiveEntry;
      readonly outcome: ContentOutcome;
      /** Of what is a small archive itself. */
      readonly nesting: Nesting | undefined;
    }
  /** What lies between; `record` and `local` are of the entry before it. */
  | {
      readonly kind: 'gap';
      readonly gap: Gap;
      readonly record: CentralRecord | undefined;
      readonly local: LocalHeader | undefined;
    }
  /** By its own header the entry reaches into the directory or beyond the file. */
  | { readonly kind: 'outside'; readonly entry: ArchiveEntry }
  /** The entry begins where another one lies. */
  | { readonly kind: 'overlap'; readonly entry: ArchiveEntry }
);

/** What came out when an entry's data was read. */
export interface ContentOutcome {
  readonly bytes: number;
  readonly crc32: number;
  readonly sha256: string;
  readonly problem: 'ends-early' | 'not-deflate' | 'too-long' | undefined;
  /** Compressed bytes after the end of the deflate stream. */
  readonly unusedBytes: number;
}

/** Whether an entry's data is what the directory states. */
export const isAsStated = (entry: ArchiveEntry, { problem, bytes, crc32, unusedBytes }: ContentOutcome): boolean =>
  problem === undefined && bytes === entry.bytes && crc32 === entry.crc32 && unusedBytes === 0;

/** What an archive inside the archive would become if everything in it were unpacked. */
export interface Nesting {
  /** 1 where the inner archive holds no further one. */
  readonly depth: number;
  readonly bytes: number;
  /** The deepest level that is looked at holds yet another archive. */
  readonly endless: boolean;
}

/** The bytes between the end of one entry's data and the next local header or the directory. */
export interface Gap {
  readonly at: number;
  readonly length: number;
  /** Its first bytes, up to 24. */
  readonly head: Uint8Array;
  /** Its last bytes, up to 24. */
  readonly last: Uint8Array;
  readonly zeroAfterHead: boolean;
  /** File offset of a local header signature in it. */
  readonly hiddenHeaderAt: number | undefined;
}

const nothing = new Uint8Array();

export const emptyGap = (at: number): Gap => ({
  at,
  length: 0,
  head: nothing,
  last: nothing,
  zeroAfterHead: true,
  hiddenHeaderAt: undefined,
});
