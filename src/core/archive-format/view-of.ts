/** The bytes as numbers can be read from them; shares their memory. */
export const viewOf = (bytes: Uint8Array): DataView => new DataView(bytes.buffer, bytes.byteOffset, bytes.byteLength);

/**
 * Eight bytes, little-endian. Above 2^53 the number is no longer exact but still far outside any file, so a comparison
 * with a file's size holds.
 */
export const readUint64 = (view: DataView, offset: number): number => Number(view.getBigUint64(offset, true));

/** Position of a four-byte little-endian signature at or after `from`; -1 where there is none. */
export function indexOfSignature(bytes: Uint8Array, signature: number, from = 0): number {
  const view = viewOf(bytes);
  for (let at = bytes.indexOf(0x50, from); at !== -1; at = bytes.indexOf(0x50, at + 1)) {
    if (at + 4 > bytes.length) return -1;
    if (view.getUint32(at, true) === signature) return at;
  }
  return -1;
}
