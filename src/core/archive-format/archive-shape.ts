import type { CentralDirectory, CentralRecord } from './read-central-directory.ts';
import type { EndRecord, Zip64End, Zip64Locator } from './read-end-records.ts';

/** How a name was written and what readers make of it. */
export interface EntryName {
  /** What a reader shows that knows the Unicode path extra (APPNOTE 4.6.9). */
  readonly shown: string;
  /** What a reader shows that does not. */
  readonly plain: string;
  /** Bytes above 127 and no word of their alphabet (bit 11 clear, no Unicode path): readers guess. */
  readonly alphabetUnknown: boolean;
  /** Said to be UTF-8 and is not. */
  readonly brokenUtf8: boolean;
}

export interface NamedRecord extends CentralRecord {
  readonly name: EntryName;
  /** Where the local header starts, in bytes from the start of the file. */
  readonly startsAt: number;
}

/** Where an archive's parts lie, as its end records state and as they were found. */
export interface ArchiveShape {
  readonly fileBytes: number;
  /** The first bytes of the file. */
  readonly head: Uint8Array;
  /** Every end record signature near the end of the file, first to last. */
  readonly ends: readonly EndRecord[];
  /** The one that is followed. */
  readonly end: EndRecord;
  readonly zip64Locator: Zip64Locator | undefined;
  readonly zip64End: Zip64End | undefined;
  /** Bytes before the archive's own first byte: what must be added to every stated offset. */
  readonly baseBytes: number;
  /** Where the central directory was found. */
  readonly directoryAt: number;
  /** The first byte that can no longer belong to it: the first end record. */
  readonly directoryLimit: number;
  readonly directory: CentralDirectory;
  /** The directory's records with their names decoded, in the directory's order. */
  readonly records: readonly NamedRecord[];
}

/** The numbers that count: those of the Zip64 record where there is one (APPNOTE 4.4.1.4). */
export const effectiveEnd = (shape: Pick<ArchiveShape, 'end' | 'zip64End'>): Omit<EndRecord, 'commentBytes'> =>
  shape.zip64End ?? shape.end;
