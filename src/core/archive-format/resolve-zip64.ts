import type { ExtraField } from './read-extra-fields.ts';
import { extraIds, zip64Mark16, zip64Mark32 } from './signatures.ts';
import { readUint64, viewOf } from './view-of.ts';

export interface MarkedFields {
  readonly bytes: number;
  readonly compressedBytes: number;
  readonly headerOffset: number;
  readonly diskStart: number;
}

export interface ResolvedFields extends MarkedFields {
  /** A field is marked as being in the Zip64 extra, which is absent or too short. */
  readonly missing: 'bytes' | 'compressedBytes' | 'headerOffset' | 'diskStart' | undefined;
  /** There are several Zip64 extras and they do not say the same. */
  readonly contradictory: boolean;
}

/**
 * Replaces marked fields by the values in the Zip64 extended information extra (APPNOTE 4.5.3): original size, compressed
 * size, header offset (8 bytes each), disk number (4 bytes); only the marked ones are there, in this order.
 */
export function resolveZip64(fields: MarkedFields, extras: readonly ExtraField[]): ResolvedFields {
  const zip64Extras = extras.filter((field) => field.id === extraIds.zip64);
  const first = readFrom(fields, zip64Extras[0]?.data ?? new Uint8Array());
  const contradictory = zip64Extras.slice(1).some((extra) => {
    const other = readFrom(fields, extra.data);
    return (
      other.missing !== first.missing ||
      other.bytes !== first.bytes ||
      other.compressedBytes !== first.compressedBytes ||
      other.headerOffset !== first.headerOffset
    );
  });
  return { ...first, contradictory };
}

function readFrom(fields: MarkedFields, data: Uint8Array): Omit<ResolvedFields, 'contradictory'> {
  const view = viewOf(data);
  let at = 0;
  let missing: ResolvedFields['missing'];
  const resolve = (field: keyof MarkedFields, mark: number, width: 4 | 8): number => {
    if (fields[field] !== mark) return fields[field];
    if (at + width > data.length) {
      missing ??= field;
      return fields[field];
    }
    const value = width === 8 ? readUint64(view, at) : view.getUint32(at, true);
    at += width;
    return value;
  };
  const bytes = resolve('bytes', zip64Mark32, 8);
  const compressedBytes = resolve('compressedBytes', zip64Mark32, 8);
  const headerOffset = resolve('headerOffset', zip64Mark32, 8);
  const diskStart = resolve('diskStart', zip64Mark16, 4);
  return { bytes, compressedBytes, headerOffset, diskStart, missing };
}
