/** The most that lies behind the signed range: an end record (22 bytes) with the longest comment (APPNOTE 4.3.16). */
export const largestTailBytes = 22 + 0xffff;

const footerBytes = 6;
const endRecordBytes = 22;

/**
 * `marker`: the comment holds a signature, but its last bytes do not say so. `end-record`: the end record is not where
 * the footer says. `start-outside`, `start-in-footer`: the signature would lie outside the comment, or leave none.
 * `second-end-record`: an end record's mark inside the end record or its comment, where another reader may begin.
 */
export type FooterProblem = 'marker' | 'end-record' | 'start-outside' | 'start-in-footer' | 'second-end-record';

export type Footer =
  | { readonly state: 'none' }
  | { readonly state: 'broken'; readonly problem: FooterProblem }
  | {
      readonly state: 'found';
      /** The file's first bytes that the signature covers: all but the comment and its 2-byte length. */
      readonly signedBytes: number;
      /** DER of a CMS SignedData, not yet looked at. */
      readonly cms: Uint8Array;
    };

/**
 * Looks for a whole-file signature at the end of a file of `fileBytes`, of which `tail` holds the last bytes
 * (`largestTailBytes`, or all). Source: AOSP bootable/recovery install/verifier.cpp, verify_file.
 */
export function parseFooter(tail: Uint8Array, fileBytes: number): Footer {
  const end = tail.length;
  const lastEndRecord = findLast(tail, endRecordSignature);
  if (lastEndRecord < 0 || end < endRecordBytes) return { state: 'none' };
  const view = new DataView(tail.buffer, tail.byteOffset, tail.byteLength);
  // −6: start (LE16), counted from the end; −4: FF FF; −2: comment size (LE16).
  const start = view.getUint16(end - 6, true);
  const commentBytes = view.getUint16(end - 2, true);
  if (view.getUint16(end - 4, true) !== 0xffff) return unmarked(tail, lastEndRecord);
  // Without a comment these bytes are the end record itself: FF FF is half of a Zip64 mark for the directory's offset.
  if (commentBytes === 0 && lastEndRecord === end - endRecordBytes) return { state: 'none' };
  if (start > commentBytes) return { state: 'broken', problem: 'start-outside' };
  if (start <= footerBytes) return { state: 'broken', problem: 'start-in-footer' };
  const endRecord = end - commentBytes - endRecordBytes;
  if (endRecord < 0 || !matches(tail, endRecordSignature, endRecord)) return { state: 'broken', problem: 'end-record' };
  if (lastEndRecord !== endRecord) return { state: 'broken', problem: 'second-end-record' };
  // Offset 20 of the end record: comment length. A zip reader goes by this one, so both must say the same.
  if (view.getUint16(endRecord + 20, true) !== commentBytes) return { state: 'broken', problem: 'end-record' };
  return {
    state: 'found',
    signedBytes: fileBytes - commentBytes - 2,
    cms: tail.slice(end - start, end - footerBytes),
  };
}

/** No FF FF: either nobody signed it, or the mark of a signature that is there was damaged. */
function unmarked(tail: Uint8Array, endRecord: number): Footer {
  const signed = indexOf(tail, signedDataOid, endRecord + endRecordBytes) >= 0;
  return signed ? { state: 'broken', problem: 'marker' } : { state: 'none' };
}

/** PK 05 06 (APPNOTE 4.3.16). */
const endRecordSignature = [0x50, 0x4b, 0x05, 0x06];

/** DER of the object identifier 1.2.840.113549.1.7.2, signedData (RFC 5652 section 12.1). */
const signedDataOid = [0x06, 0x09, 0x2a, 0x86, 0x48, 0x86, 0xf7, 0x0d, 0x01, 0x07, 0x02];

const matches = (bytes: Uint8Array, wanted: readonly number[], at: number): boolean =>
  wanted.every((byte, index) => bytes[at + index] === byte);

function indexOf(bytes: Uint8Array, wanted: readonly number[], from: number): number {
  for (let at = from; at + wanted.length <= bytes.length; at += 1) if (matches(bytes, wanted, at)) return at;
  return -1;
}

function findLast(bytes: Uint8Array, wanted: readonly number[]): number {
  for (let at = bytes.length - wanted.length; at >= 0; at -= 1) if (matches(bytes, wanted, at)) return at;
  return -1;
}
