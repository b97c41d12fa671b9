import { type ExtraFields, noExtraFields, readExtraFields } from './read-extra-fields.ts';
import { resolveZip64, type Zip64Doubts } from './resolve-zip64.ts';
import { fixedBytes, signatures } from './signatures.ts';
import { viewOf } from './view-of.ts';

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

/** Decodes a name; a parameter, since the code pages come from a library. */
export type NameEntry = (flags: number, nameBytes: Uint8Array, extra: ExtraFields) => EntryName;

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
  readonly name: EntryName;
  /** Lengths of what follows the record's first 46 bytes; `nameBytesOf` and `extraFieldsOf` give the parts. */
  readonly nameLength: number;
  readonly extraLength: number;
  readonly zip64: Zip64Doubts;
}

export interface CentralDirectory {
  readonly records: readonly CentralRecord[];
  /** Where the walk stopped: the first byte after the last record that was read, from the start of the file. */
  readonly endsAt: number;
  /** Why the walk stopped before the end of the bytes; undefined where it used all of them. */
  readonly stoppedBy: 'other-signature' | 'overrun' | undefined;
}

/** Reads all records from `bytes`, which start at file offset `at`, whatever count any end record claims. */
export function readCentralDirectory(bytes: Uint8Array, at: number, nameEntry: NameEntry): CentralDirectory {
  const view = viewOf(bytes);
  const records: CentralRecord[] = [];
  let cursor = 0;
  while (cursor < bytes.length) {
    const endsAt = at + cursor;
    if (cursor + 4 > bytes.length || view.getUint32(cursor, true) !== signatures.centralHeader) {
      return { records, endsAt, stoppedBy: 'other-signature' };
    }
    if (cursor + fixedBytes.centralHeader > bytes.length) return { records, endsAt, stoppedBy: 'overrun' };
    const length = centralRecordLength(view, cursor);
    if (cursor + length > bytes.length) return { records, endsAt, stoppedBy: 'overrun' };
    records.push(readRecord(bytes, view, cursor, endsAt, nameEntry));
    cursor += length;
  }
  return { records, endsAt: at + cursor, stoppedBy: undefined };
}

/** `at`: where the record starts; its first 46 bytes are there. */
export function centralRecordLength(view: DataView, at: number): number {
  const name = view.getUint16(at + 28, true); // 28: file name length
  const extra = view.getUint16(at + 30, true); // 30: extra field length
  return fixedBytes.centralHeader + name + extra + view.getUint16(at + 32, true); // 32: file comment length
}

function readRecord(bytes: Uint8Array, view: DataView, from: number, at: number, nameEntry: NameEntry): CentralRecord {
  const flags = view.getUint16(from + 8, true); // 8: general purpose bit flag
  const nameLength = view.getUint16(from + 28, true); // 28: file name length
  const extraLength = view.getUint16(from + 30, true); // 30: extra field length
  const extra = extraFieldsIn(bytes, from, nameLength, extraLength);
  const fields = {
    compressedBytes: view.getUint32(from + 20, true), // 20: compressed size
    bytes: view.getUint32(from + 24, true), // 24: uncompressed size
    diskStart: view.getUint16(from + 34, true), // 34: disk number start
    headerOffset: view.getUint32(from + 42, true), // 42: relative offset of local header
  };
  const resolved = resolveZip64(fields, extra.fields);
  return {
    at,
    versionMadeBy: view.getUint16(from + 4, true), // 4: version made by
    versionNeeded: view.getUint16(from + 6, true), // 6: version needed to extract
    flags,
    method: view.getUint16(from + 10, true), // 10: compression method
    modTime: view.getUint16(from + 12, true), // 12: last mod file time
    modDate: view.getUint16(from + 14, true), // 14: last mod file date
    crc32: view.getUint32(from + 16, true), // 16: crc-32
    compressedBytes: resolved.compressedBytes,
    bytes: resolved.bytes,
    diskStart: resolved.diskStart,
    externalAttributes: view.getUint32(from + 38, true), // 38: external file attributes
    headerOffset: resolved.headerOffset,
    name: nameEntry(flags, nameIn(bytes, from, nameLength), extra),
    nameLength,
    extraLength,
    zip64: resolved.zip64,
  };
}

/** `from`: where the record starts in `bytes`. */
const nameIn = (bytes: Uint8Array, from: number, nameLength: number): Uint8Array =>
  bytes.subarray(from + fixedBytes.centralHeader, from + fixedBytes.centralHeader + nameLength); // 46: file name

function extraFieldsIn(bytes: Uint8Array, from: number, nameLength: number, extraLength: number): ExtraFields {
  const at = from + fixedBytes.centralHeader + nameLength; // 46 + name: extra field
  return extraLength === 0 ? noExtraFields : readExtraFields(bytes.subarray(at, at + extraLength));
}

/** The directory as its bytes lie in the file from `at` on. */
export interface DirectoryBytes {
  readonly directoryAt: number;
  readonly directoryBytes: Uint8Array;
}

/** A record's name as written. */
export const nameBytesOf = ({ directoryAt, directoryBytes }: DirectoryBytes, record: CentralRecord): Uint8Array =>
  nameIn(directoryBytes, record.at - directoryAt, record.nameLength);

/** A record's extra fields. */
export const extraFieldsOf = ({ directoryAt, directoryBytes }: DirectoryBytes, record: CentralRecord): ExtraFields =>
  record.extraLength === 0
    ? noExtraFields
    : extraFieldsIn(directoryBytes, record.at - directoryAt, record.nameLength, record.extraLength);
