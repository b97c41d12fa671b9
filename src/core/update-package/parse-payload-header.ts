export const payloadPath = 'payload.bin';

/** Bytes of a version 2 header. */
export const payloadHeaderBytes = 24;

/** Nothing in a payload is announced beyond this; larger numbers are not offsets but damage. */
const largestAnnounced = 2n ** 48n;

export type PayloadHeader =
  | { readonly state: 'not-a-payload'; readonly firstBytes: string }
  | { readonly state: 'other-version'; readonly version: string }
  | { readonly state: 'cut-off'; readonly announcedBytes: string }
  | { readonly state: 'read'; readonly manifestBytes: number; readonly signatureBytes: number };

/**
 * Reads the head of `payload.bin`. `head` holds its first bytes (at least 24 unless the payload is shorter);
 * `payloadBytes` is the size of the whole. Big-endian. Source: AOSP update_engine/update_metadata.proto, struct
 * delta_update_file.
 */
export function parsePayloadHeader(head: Uint8Array, payloadBytes: number): PayloadHeader {
  const view = new DataView(head.buffer, head.byteOffset, head.byteLength);
  // +0: magic "CrAU".
  if (head.length < 4 || view.getUint32(0) !== 0x43724155) return { state: 'not-a-payload', firstBytes: hex(head) };
  if (head.length < payloadHeaderBytes) return { state: 'cut-off', announcedBytes: String(payloadHeaderBytes) };
  // +4: major version, 8 bytes.
  const version = view.getBigUint64(4);
  if (version !== 2n) return { state: 'other-version', version: version.toString() };
  // +12: manifest size, 8 bytes; +20: metadata signature size, 4 bytes.
  const manifestBytes = view.getBigUint64(12);
  const signatureBytes = view.getUint32(20);
  const announced = BigInt(payloadHeaderBytes) + manifestBytes + BigInt(signatureBytes);
  if (announced > largestAnnounced || announced > BigInt(payloadBytes)) {
    return { state: 'cut-off', announcedBytes: announced.toString() };
  }
  return { state: 'read', manifestBytes: Number(manifestBytes), signatureBytes };
}

const hex = (bytes: Uint8Array): string =>
  Array.from(bytes.subarray(0, 4), (byte) => byte.toString(16).padStart(2, '0')).join(' ');
