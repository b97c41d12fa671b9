import { describe, expect, it } from 'vitest';
import { parseFooter } from '../../../src/core/update-package/parse-footer.ts';

/** An end record with this comment (PKWARE APPNOTE 4.3.16), behind a few bytes of a file. */
function fileWith(comment: readonly number[], directoryOffset = 0): Uint8Array {
  const end = Buffer.alloc(22);
  end.writeUInt32BE(0x504b0506, 0);
  end.writeUInt32LE(directoryOffset, 16);
  end.writeUInt16LE(comment.length, 20);
  return Buffer.concat([Buffer.alloc(100, 0x61), end, Buffer.from(comment)]);
}

const read = (file: Uint8Array) => parseFooter(file, file.length);

/** start LE16, FF FF, comment size LE16: AOSP bootable/recovery install/verifier.cpp. */
const footer = (start: number, comment: number) => [start & 255, start >> 8, 0xff, 0xff, comment & 255, comment >> 8];

const signedDataOid = [0x06, 0x09, 0x2a, 0x86, 0x48, 0x86, 0xf7, 0x0d, 0x01, 0x07, 0x02];

describe('parseFooter', () => {
  it('finds the signed range and the signature', () => {
    const found = read(fileWith([0x74, 0x00, 1, 2, 3, 4, ...footer(10, 12)]));
    expect(found).toEqual({ state: 'found', signedBytes: 120, cms: Buffer.from([1, 2, 3, 4]) });
  });

  it('counts the signed range over the whole file where only its end was read', () => {
    const file = fileWith([1, 2, 3, 4, ...footer(10, 10)]);
    expect(parseFooter(file.slice(50), 5_000_000_000)).toMatchObject({ signedBytes: 5_000_000_000 - 12 });
  });

  it('takes a Zip64 archive without a comment for unsigned, although its last bytes hold FF FF', () => {
    // Offset of the directory FF FF FF FF (APPNOTE 4.4.24), comment length 0: byte for byte a footer's mark.
    expect(read(fileWith([], 0xffffffff))).toEqual({ state: 'none' });
  });

  it.each([
    ['nothing', []],
    ['an ordinary comment', [...Buffer.from('packed on a Tuesday')]],
    ['six bytes', [0, 0, 0, 0, 0, 0]],
  ])('%s is no signature', (_name, comment) => {
    expect(read(fileWith(comment))).toEqual({ state: 'none' });
  });

  it.each([
    ['start beyond the comment', [1, 2, ...footer(20, 8)], 'start-outside'],
    ['start inside the footer', [1, 2, ...footer(6, 8)], 'start-in-footer'],
    ['comment size one too small', [1, 2, 3, 4, ...footer(8, 9)], 'end-record'],
    ['comment size beyond the file', [1, 2, 3, 4, ...footer(8, 60000)], 'end-record'],
    ['an end record in the comment', [0x50, 0x4b, 5, 6, ...footer(8, 10)], 'second-end-record'],
    ['the mark is gone, the signature is not', [...signedDataOid, 17, 0, 0xfe, 0xff, 17, 0], 'marker'],
  ])('%s', (_name, comment, problem) => {
    expect(read(fileWith(comment))).toEqual({ state: 'broken', problem });
  });

  it('says none for what has no end record, whatever its last bytes are', () => {
    expect(read(new Uint8Array(5000).fill(0xff))).toEqual({ state: 'none' });
    expect(read(new Uint8Array(0))).toEqual({ state: 'none' });
    expect(read(new Uint8Array([0x50, 0x4b, 5, 6]))).toEqual({ state: 'none' });
  });
});
