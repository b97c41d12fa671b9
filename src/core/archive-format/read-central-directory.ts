import {
  type DeferredFields,
  type ExtraFields,
  isDeferred,
  noDoubts,
  noExtraFields,
  type ResolvedFields,
  readExtraFields,
  resolveZip64,
  type Zip64Doubts,
} from './read-extra-fields.ts';
import { fixedBytes, signatures, viewOf } from './signatures.ts';

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
  readonly stoppedBy: 'other-signature' | 'overrun' | 'too-many' | undefined;
}

/**
 * More are not read: as many as an end record without Zip64 can count (APPNOTE 4.4.22); firmware packages hold some
 * hundreds (common practice, no source).
 */
export const mostCentralRecords = 0xffff;

/**
 * Reads the records from `bytes`, which start at file offset `at`, whatever count any end record claims; at most
 * `mostCentralRecords`.
 */
export function readCentralDirectory(bytes: Uint8Array, at: number, nameEntry: NameEntry): CentralDirectory {
  const view = viewOf(bytes);
  const directory = { bytes, view, at };
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
    if (records.length === mostCentralRecords) return { records, endsAt, stoppedBy: 'too-many' };
    records.push(new RecordInPlace(directory, cursor, nameEntry));
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

/** A directory's bytes, which start at file offset `at`. */
interface Directory {
  readonly bytes: Uint8Array;
  readonly view: DataView;
  readonly at: number;
}

/** Reads its fields from the directory's bytes whenever asked: an archive may have tens of thousands of these. */
class RecordInPlace implements CentralRecord {
  readonly #directory: Directory;
  readonly #from: number;
  /** Only the text where there is nothing else to say of it. */
  readonly #name: EntryName | string;
  readonly #zip64: ResolvedFields | undefined = undefined;

  /** `from`: where the record starts in the directory's bytes; all of it is there. */
  constructor(directory: Directory, from: number, nameEntry: NameEntry) {
    this.#directory = directory;
    this.#from = from;
    const extra = extraFieldsIn(directory.bytes, from, this.nameLength, this.extraLength);
    const name = nameEntry(this.flags, nameIn(directory.bytes, from, this.nameLength), extra);
    this.#name = isUndoubted(name) ? name.shown : name;
    if (isDeferred(this.#asWritten)) this.#zip64 = resolveZip64(this.#asWritten, extra.fields);
  }

  get at(): number {
    return this.#directory.at + this.#from;
  }

  get versionMadeBy(): number {
    return this.#uint16(4); // 4: version made by
  }

  get versionNeeded(): number {
    return this.#uint16(6); // 6: version needed to extract
  }

  get flags(): number {
    return this.#uint16(8); // 8: general purpose bit flag
  }

  get method(): number {
    return this.#uint16(10); // 10: compression method
  }

  get modTime(): number {
    return this.#uint16(12); // 12: last mod file time
  }

  get modDate(): number {
    return this.#uint16(14); // 14: last mod file date
  }

  get crc32(): number {
    return this.#uint32(16); // 16: crc-32
  }

  get compressedBytes(): number {
    return (this.#zip64 ?? this.#asWritten).compressedBytes;
  }

  get bytes(): number {
    return (this.#zip64 ?? this.#asWritten).bytes;
  }

  get nameLength(): number {
    return this.#uint16(28); // 28: file name length
  }

  get extraLength(): number {
    return this.#uint16(30); // 30: extra field length
  }

  get diskStart(): number {
    return (this.#zip64 ?? this.#asWritten).diskStart;
  }

  get externalAttributes(): number {
    return this.#uint32(38); // 38: external file attributes
  }

  get headerOffset(): number {
    return (this.#zip64 ?? this.#asWritten).headerOffset;
  }

  get name(): EntryName {
    const name = this.#name;
    if (typeof name !== 'string') return name;
    return { shown: name, plain: name, alphabetUnknown: false, brokenUtf8: false };
  }

  get zip64(): Zip64Doubts {
    return this.#zip64?.zip64 ?? noDoubts;
  }

  get #asWritten(): DeferredFields {
    return {
      compressedBytes: this.#uint32(20), // 20: compressed size
      bytes: this.#uint32(24), // 24: uncompressed size
      diskStart: this.#uint16(34), // 34: disk number start
      headerOffset: this.#uint32(42), // 42: relative offset of local header
    };
  }

  #uint16(at: number): number {
    return this.#directory.view.getUint16(this.#from + at, true);
  }

  #uint32(at: number): number {
    return this.#directory.view.getUint32(this.#from + at, true);
  }
}

const isUndoubted = (name: EntryName): boolean =>
  name.shown === name.plain && !name.alphabetUnknown && !name.brokenUtf8;

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
