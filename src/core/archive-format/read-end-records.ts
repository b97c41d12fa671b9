import { fixedBytes, signatures } from './signatures.ts';
import { indexOfSignature, readUint64, viewOf } from './view-of.ts';

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
