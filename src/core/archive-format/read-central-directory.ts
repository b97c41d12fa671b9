import { type ExtraFields, readExtraFields } from './read-extra-fields.ts';
import { type ResolvedFields, resolveZip64 } from './resolve-zip64.ts';
import { fixedBytes, signatures } from './signatures.ts';
import { viewOf } from './view-of.ts';

/** One record of the central directory (APPNOTE 4.3.12), with Zip64 values in place. */
export interface CentralRecord {
  /** Where the record starts, in bytes from the start of the file. */
  readonly at: number;
  readonly versionMadeBy: number;
  readonly versionNeeded: number;
  readonly flags: number;
  readonly method: number;
  readonly modTime: number;
  readonly modDate: number;
  readonly crc32: number;
  readonly compressedBytes: number;
  readonly bytes: number;
  readonly diskStart: number;
  readonly externalAttributes: number;
  /** As written in the record; where the archive has bytes before its start, the file's offset is larger. */
  readonly headerOffset: number;
  readonly nameBytes: Uint8Array;
  readonly extra: ExtraFields;
  readonly zip64: Pick<ResolvedFields, 'missing' | 'contradictory'>;
}

export interface CentralDirectory {
  readonly records: readonly CentralRecord[];
  /** Where the walk stopped: the first byte after the last record that was read, from the start of the file. */
  readonly endsAt: number;
  /** Why the walk stopped before the end of the bytes; undefined where it used all of them. */
  readonly stoppedBy: 'other-signature' | 'overrun' | undefined;
}

/** Reads all records from `bytes`, which start at file offset `at`, whatever count any end record claims. */
export function readCentralDirectory(bytes: Uint8Array, at: number): CentralDirectory {
  const view = viewOf(bytes);
  const records: CentralRecord[] = [];
  let cursor = 0;
  while (cursor < bytes.length) {
    const endsAt = at + cursor;
    if (cursor + 4 > bytes.length || view.getUint32(cursor, true) !== signatures.centralHeader) {
      return { records, endsAt, stoppedBy: 'other-signature' };
    }
    if (cursor + fixedBytes.centralHeader > bytes.length) return { records, endsAt, stoppedBy: 'overrun' };
    const nameBytes = view.getUint16(cursor + 28, true); // 28: file name length
    const extraBytes = view.getUint16(cursor + 30, true); // 30: extra field length
    const commentBytes = view.getUint16(cursor + 32, true); // 32: file comment length
    const length = fixedBytes.centralHeader + nameBytes + extraBytes + commentBytes;
    if (cursor + length > bytes.length) return { records, endsAt, stoppedBy: 'overrun' };
    records.push(readRecord(bytes.subarray(cursor, cursor + length), endsAt, nameBytes, extraBytes));
    cursor += length;
  }
  return { records, endsAt: at + cursor, stoppedBy: undefined };
}

function readRecord(bytes: Uint8Array, at: number, nameBytes: number, extraBytes: number): CentralRecord {
  const view = viewOf(bytes);
  const nameEnd = fixedBytes.centralHeader + nameBytes;
  const extra = readExtraFields(bytes.subarray(nameEnd, nameEnd + extraBytes));
  const fields = {
    compressedBytes: view.getUint32(20, true), // 20: compressed size
    bytes: view.getUint32(24, true), // 24: uncompressed size
    diskStart: view.getUint16(34, true), // 34: disk number start
    headerOffset: view.getUint32(42, true), // 42: relative offset of local header
  };
  const resolved = resolveZip64(fields, extra.fields);
  return {
    at,
    versionMadeBy: view.getUint16(4, true), // 4: version made by
    versionNeeded: view.getUint16(6, true), // 6: version needed to extract
    flags: view.getUint16(8, true), // 8: general purpose bit flag
    method: view.getUint16(10, true), // 10: compression method
    modTime: view.getUint16(12, true), // 12: last mod file time
    modDate: view.getUint16(14, true), // 14: last mod file date
    crc32: view.getUint32(16, true), // 16: crc-32
    compressedBytes: resolved.compressedBytes,
    bytes: resolved.bytes,
    diskStart: resolved.diskStart,
    externalAttributes: view.getUint32(38, true), // 38: external file attributes
    headerOffset: resolved.headerOffset,
    nameBytes: bytes.subarray(fixedBytes.centralHeader, nameEnd), // 46: file name
    extra,
    zip64: { missing: resolved.missing, contradictory: resolved.contradictory },
  };
}
