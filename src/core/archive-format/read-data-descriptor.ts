import { signatures } from './signatures.ts';
import { readUint64, viewOf } from './view-of.ts';

/** What follows the data of an entry that was written before its size was known (APPNOTE 4.3.9). */
export interface DataDescriptor {
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
