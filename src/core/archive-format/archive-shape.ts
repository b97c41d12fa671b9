import type { CentralDirectory, CentralRecord, DirectoryBytes } from './read-central-directory.ts';
import type { EndRecord, Zip64End, Zip64Locator } from './read-end-records.ts';

/** Where an archive's parts lie, as its end records state and as they were found. */
export interface ArchiveShape extends DirectoryBytes {
  readonly fileBytes: number;
  /** The first bytes of the file. */
  readonly head: Uint8Array;
  /** Every end record signature near the end of the file, first to last. */
  readonly ends: readonly EndRecord[];
  /** Where the last end record signature is, be it a record or not. */
  readonly lastEndMarkAt: number;
  /** The one that is followed. */
  readonly end: EndRecord;
  readonly zip64Locator: Zip64Locator | undefined;
  readonly zip64End: Zip64End | undefined;
  /** Bytes before the archive's own first byte: what must be added to every stated offset. */
  readonly baseBytes: number;
  /** The first byte that can no longer belong to it: the first end record. */
  readonly directoryLimit: number;
  readonly directory: CentralDirectory;
}

/** Where an entry's local header starts, in bytes from the start of the file. */
export const startOf = ({ baseBytes }: Pick<ArchiveShape, 'baseBytes'>, record: CentralRecord): number =>
  record.headerOffset + baseBytes;

/** The numbers that count: those of the Zip64 record where there is one (APPNOTE 4.4.1.4). */
export const effectiveEnd = (shape: Pick<ArchiveShape, 'end' | 'zip64End'>): Omit<EndRecord, 'commentBytes'> =>
  shape.zip64End ?? shape.end;
