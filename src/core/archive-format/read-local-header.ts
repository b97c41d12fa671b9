import {
  type ExtraFields,
  noExtraFields,
  readExtraFields,
  resolveZip64,
  type Zip64Doubts,
} from './read-extra-fields.ts';
import { fixedBytes, readUint64, signatures, viewOf } from './signatures.ts';

/** The header before an entry's data (APPNOTE 4.3.7), with Zip64 values in place. */
export interface LocalHeader {
  readonly versionNeeded: number;
  readonly flags: number;
  readonly method: number;
  readonly modTime: number;
  readonly modDate: number;
  readonly crc32: number;
  readonly compressedBytes: number;
  readonly bytes: number;
  readonly nameBytes: Uint8Array;
  readonly extra: ExtraFields;
  readonly zip64: Zip64Doubts;
}

/**
 * How long the header at the start of `bytes` is: undefined where its first 30 bytes are not there yet, -1 where it is
 * none.
 */
export function localHeaderLength(bytes: Uint8Array): number | undefined {
  const view = viewOf(bytes);
  if (bytes.length >= 4 && view.getUint32(0, true) !== signatures.localHeader) return -1; // 0: signature
  if (bytes.length < fixedBytes.localHeader) return undefined;
  return fixedBytes.localHeader + view.getUint16(26, true) + view.getUint16(28, true); // 26: name, 28: extra length
}

/** `bytes` is exactly one header, as `localHeaderLength` measured it. */
export function readLocalHeader(bytes: Uint8Array): LocalHeader {
  const view = viewOf(bytes);
  const nameEnd = fixedBytes.localHeader + view.getUint16(26, true); // 26: file name length
  const extra = nameEnd === bytes.length ? noExtraFields : readExtraFields(bytes.subarray(nameEnd));
  const fields = {
    compressedBytes: view.getUint32(18, true), // 18: compressed size
    bytes: view.getUint32(22, true), // 22: uncompressed size
    headerOffset: 0,
    diskStart: 0,
  };
  const resolved = resolveZip64(fields, extra.fields);
  return {
    versionNeeded: view.getUint16(4, true), // 4: version needed to extract
    flags: view.getUint16(6, true), // 6: general purpose bit flag
    method: view.getUint16(8, true), // 8: compression method
    modTime: view.getUint16(10, true), // 10: last mod file time
    modDate: view.getUint16(12, true), // 12: last mod file date
    crc32: view.getUint32(14, true), // 14: crc-32
    compressedBytes: resolved.compressedBytes,
    bytes: resolved.bytes,
    nameBytes: bytes.subarray(fixedBytes.localHeader, nameEnd), // 30: file name
    extra,
    zip64: resolved.zip64,
  };
}

/** A field that an entry's two headers state differently. */
export interface DifferingPart {
  readonly part: string;
  readonly directory: string;
  readonly local: string;
}

/** What follows the data of an entry that was written before its size was known (APPNOTE 4.3.9). */
interface DataDescriptor {
  readonly crc32: number;
  readonly compressedBytes: number;
  readonly bytes: number;
  /** 12, 16, 20 or 24: with or without signature, sizes of 4 or 8 bytes. */
  readonly length: number;
}

const forms = [
  { signed: true, wide: false, length: 16 },
  { signed: true, wide: true, length: 24 },
  { signed: false, wide: false, length: 12 },
  { signed: false, wide: true, length: 20 },
] as const;

type Wanted = Pick<DataDescriptor, 'crc32' | 'compressedBytes' | 'bytes'>;

/**
 * Finds the descriptor at the start of `bytes`. The record does not say which of its four forms it has, so the one that
 * equals the directory is taken; where none does, the form that fills the space up to the next record.
 */
export function readDataDescriptor(bytes: Uint8Array, wanted: Wanted, spaceBytes: number): DataDescriptor | undefined {
  const view = viewOf(bytes);
  const read = forms
    .filter(({ length }) => length <= bytes.length)
    .filter(({ signed }) => !signed || view.getUint32(0, true) === signatures.dataDescriptor)
    .map(({ signed, wide, length }): DataDescriptor => {
      const at = signed ? 4 : 0;
      return {
        crc32: view.getUint32(at, true), // 0 (4 after a signature): crc-32
        compressedBytes: wide ? readUint64(view, at + 4) : view.getUint32(at + 4, true), // 4: compressed size
        bytes: wide ? readUint64(view, at + 12) : view.getUint32(at + 8, true), // 8, or 12 in Zip64: uncompressed size
        length,
      };
    });
  return read.find((form) => agrees(form, wanted)) ?? read.find((form) => form.length === spaceBytes) ?? read[0];
}

const agrees = (form: Wanted, wanted: Wanted): boolean =>
  form.crc32 === wanted.crc32 && form.compressedBytes === wanted.compressedBytes && form.bytes === wanted.bytes;
