import { extraIds, readUint64, viewOf, zip64Sentinel16, zip64Sentinel32 } from './signatures.ts';

interface ExtraField {
  readonly id: number;
  readonly data: Uint8Array;
}

export interface ExtraFields {
  readonly fields: readonly ExtraField[];
  /** One to three bytes after the last field: too few for another, used to align data; harmless. */
  readonly paddingBytes: number;
  /** A field that claims more bytes than there are; nothing after it can be read. */
  readonly overrun: { readonly id: number; readonly claimedBytes: number; readonly presentBytes: number } | undefined;
}

export const noExtraFields: ExtraFields = { fields: [], paddingBytes: 0, overrun: undefined };

/** Splits an extra field area into its fields: 2 bytes id, 2 bytes size, data (APPNOTE 4.5.1). */
export function readExtraFields(bytes: Uint8Array): ExtraFields {
  const view = viewOf(bytes);
  const fields: ExtraField[] = [];
  let at = 0;
  while (at + 4 <= bytes.length) {
    const id = view.getUint16(at, true); // 0: header id
    const claimedBytes = view.getUint16(at + 2, true); // 2: data size
    const presentBytes = bytes.length - at - 4;
    if (claimedBytes > presentBytes) return { fields, paddingBytes: 0, overrun: { id, claimedBytes, presentBytes } };
    fields.push({ id, data: bytes.subarray(at + 4, at + 4 + claimedBytes) });
    at += 4 + claimedBytes;
  }
  return { fields, paddingBytes: bytes.length - at, overrun: undefined };
}

export interface DeferredFields {
  readonly bytes: number;
  readonly compressedBytes: number;
  readonly headerOffset: number;
  readonly diskStart: number;
}

/** What is wrong with an entry's Zip64 extra. */
export interface Zip64Doubts {
  /** A field is marked as being in the extra, which is absent or too short. */
  readonly missing: keyof DeferredFields | undefined;
  /** There are several Zip64 extras and they do not say the same. */
  readonly contradictory: boolean;
}

export interface ResolvedFields extends DeferredFields {
  readonly zip64: Zip64Doubts;
}

export const noDoubts: Zip64Doubts = { missing: undefined, contradictory: false };

/**
 * Replaces marked fields by the values in the Zip64 extended information extra (APPNOTE 4.5.3): original size,
 * compressed size, header offset (8 bytes each), disk number (4 bytes); only the marked ones are there, in this order.
 */
export function resolveZip64(fields: DeferredFields, extras: readonly ExtraField[]): ResolvedFields {
  if (!isDeferred(fields)) return { ...fields, zip64: noDoubts };
  const [first = new Uint8Array(), ...others] = extras
    .filter(({ id }) => id === extraIds.zip64)
    .map(({ data }) => data);
  const resolved = readFrom(fields, first);
  const contradictory = others.some((other) => differ(resolved, readFrom(fields, other)));
  const { missing, ...values } = resolved;
  return { ...values, zip64: missing === undefined && !contradictory ? noDoubts : { missing, contradictory } };
}

/** Whether the value of a field is in the Zip64 extra (APPNOTE 4.4.1.4). */
export const isDeferred = ({ bytes, compressedBytes, headerOffset, diskStart }: DeferredFields): boolean =>
  bytes === zip64Sentinel32 ||
  compressedBytes === zip64Sentinel32 ||
  headerOffset === zip64Sentinel32 ||
  diskStart === zip64Sentinel16;

type Read = DeferredFields & Pick<Zip64Doubts, 'missing'>;

const differ = (one: Read, other: Read): boolean =>
  one.missing !== other.missing ||
  one.bytes !== other.bytes ||
  one.compressedBytes !== other.compressedBytes ||
  one.headerOffset !== other.headerOffset;

function readFrom(fields: DeferredFields, data: Uint8Array): Read {
  const view = viewOf(data);
  let at = 0;
  let missing: Zip64Doubts['missing'];
  const resolve = (field: keyof DeferredFields, mark: number, width: 4 | 8): number => {
    if (fields[field] !== mark) return fields[field];
    if (at + width > data.length) {
      missing ??= field;
      return fields[field];
    }
    const value = width === 8 ? readUint64(view, at) : view.getUint32(at, true);
    at += width;
    return value;
  };
  const bytes = resolve('bytes', zip64Sentinel32, 8);
  const compressedBytes = resolve('compressedBytes', zip64Sentinel32, 8);
  const headerOffset = resolve('headerOffset', zip64Sentinel32, 8);
  const diskStart = resolve('diskStart', zip64Sentinel16, 4);
  return { bytes, compressedBytes, headerOffset, diskStart, missing };
}
