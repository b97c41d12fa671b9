import { viewOf } from './view-of.ts';

export interface ExtraField {
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
