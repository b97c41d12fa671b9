import type { CentralDirectory, CentralRecord, DirectoryBytes } from './read-central-directory.ts';
import { fixedBytes, indexOfSignature, readUint64, signatures, viewOf } from './signatures.ts';

/** An end of central directory record (APPNOTE 4.3.16). */
export interface EndRecord {
  /** Where it starts, in bytes from the start of the file. */
  readonly at: number;
  readonly disk: number;
  readonly directoryDisk: number;
  readonly entriesOnDisk: number;
  readonly entries: number;
  readonly directoryBytes: number;
  readonly directoryOffset: number;
  readonly commentBytes: number;
}

/** Zip64 end of central directory locator (APPNOTE 4.3.15). */
export interface Zip64Locator {
  readonly at: number;
  readonly disk: number;
  /** As written; where the archive has bytes before its start, the file's offset is larger. */
  readonly recordOffset: number;
  readonly disks: number;
}

/** Zip64 end of central directory record (APPNOTE 4.3.14). */
export interface Zip64End extends Omit<EndRecord, 'commentBytes'> {
  /** Bytes of the whole record, its first 12 included. */
  readonly length: number;
}

export interface EndRecords {
  /** Every end record signature in the file's last bytes that has room for a record, first to last. */
  readonly records: readonly EndRecord[];
  /** Where the last end record signature is, with or without room for a record; -1 where there is none. */
  readonly lastMarkAt: number;
}

export function findEndRecords(tail: Uint8Array, tailOffset: number): EndRecords {
  const view = viewOf(tail);
  const records: EndRecord[] = [];
  let lastMarkAt = -1;
  for (
    let at = indexOfSignature(tail, signatures.end);
    at !== -1;
    at = indexOfSignature(tail, signatures.end, at + 1)
  ) {
    lastMarkAt = tailOffset + at;
    if (at + fixedBytes.end > tail.length) continue;
    records.push({
      at: tailOffset + at,
      disk: view.getUint16(at + 4, true), // 4: number of this disk
      directoryDisk: view.getUint16(at + 6, true), // 6: disk with the start of the central directory
      entriesOnDisk: view.getUint16(at + 8, true), // 8: entries on this disk
      entries: view.getUint16(at + 10, true), // 10: entries in total
      directoryBytes: view.getUint32(at + 12, true), // 12: size of the central directory
      directoryOffset: view.getUint32(at + 16, true), // 16: offset of the central directory
      commentBytes: view.getUint16(at + 20, true), // 20: comment length
    });
  }
  return { records, lastMarkAt };
}

/** `bytes` are the 20 bytes before the end record, `at` their offset in the file. */
export function readZip64Locator(bytes: Uint8Array, at: number): Zip64Locator | undefined {
  if (bytes.length < fixedBytes.zip64Locator) return undefined;
  const view = viewOf(bytes);
  if (view.getUint32(0, true) !== signatures.zip64Locator) return undefined; // 0: signature
  return {
    at,
    disk: view.getUint32(4, true), // 4: disk with the Zip64 end record
    recordOffset: readUint64(view, 8), // 8: its offset
    disks: view.getUint32(16, true), // 16: total number of disks
  };
}

/** `bytes` are 56 bytes of the file from offset `at`. */
export function readZip64End(bytes: Uint8Array, at: number): Zip64End | undefined {
  if (bytes.length < fixedBytes.zip64End) return undefined;
  const view = viewOf(bytes);
  if (view.getUint32(0, true) !== signatures.zip64End) return undefined; // 0: signature
  return {
    at,
    length: readUint64(view, 4) + 12, // 4: size of the record without its first 12 bytes
    disk: view.getUint32(16, true), // 16: number of this disk
    directoryDisk: view.getUint32(20, true), // 20: disk with the start of the central directory
    entriesOnDisk: readUint64(view, 24), // 24: entries on this disk
    entries: readUint64(view, 32), // 32: entries in total
    directoryBytes: readUint64(view, 40), // 40: size of the central directory
    directoryOffset: readUint64(view, 48), // 48: offset of the central directory
  };
}

/** The byte after the record's comment. */
export const endOfComment = (end: EndRecord): number => end.at + fixedBytes.end + end.commentBytes;

/**
 * Chooses the end record that is followed: the last one whose comment ends exactly at the end of the file, else the
 * last one. That it must end there: APPNOTE 4.3.6, where nothing follows the record.
 */
export function chooseEndRecord(ends: readonly EndRecord[], fileBytes: number): EndRecord | undefined {
  return ends.findLast((end) => endOfComment(end) === fileBytes) ?? ends.at(-1);
}

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
