/** Record signatures, little-endian (PKWARE APPNOTE 6.3.10, sections 4.3.7 to 4.3.16). */
export const signatures = {
  localHeader: 0x04034b50,
  dataDescriptor: 0x08074b50,
  centralHeader: 0x02014b50,
  digitalSignature: 0x05054b50,
  zip64End: 0x06064b50,
  zip64Locator: 0x07064b50,
  end: 0x06054b50,
} as const;

/** Bytes of each record before its parts of variable length (APPNOTE 4.3.7, 4.3.12, 4.3.14 to 4.3.16). */
export const fixedBytes = {
  localHeader: 30,
  centralHeader: 46,
  zip64End: 56,
  zip64Locator: 20,
  end: 22,
} as const;

/**
 * A comment's length is a 16-bit field (APPNOTE 4.4.12), so the end record starts within this many bytes of the end.
 */
export const longestCommentBytes = 0xffff;

/** "The value is in the Zip64 record" (APPNOTE 4.4.1.4). */
export const zip64Sentinel16 = 0xffff;
export const zip64Sentinel32 = 0xffffffff;

/** General purpose bit flags (APPNOTE 4.4.4). */
export const flagBits = {
  encrypted: 1 << 0,
  descriptor: 1 << 3,
  patched: 1 << 5,
  strongEncryption: 1 << 6,
  utf8: 1 << 11,
  maskedHeader: 1 << 13,
} as const;

/** Extra field ids (APPNOTE 4.5.2, 4.6.1; 0x7075 in 4.6.9). */
export const extraIds = { zip64: 0x0001, unicodePath: 0x7075, aes: 0x9901 } as const;

/** What deflate can reach at most (RFC 1951, 3.2.5: the longest match is 258 bytes, from no less than 2 bits). */
export const largestDeflateRatio = 1032;

export const methods = { stored: 0, deflate: 8 } as const;

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
