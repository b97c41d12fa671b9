import zlib from 'node:zlib';
import CRC32 from 'crc-32';

type Crc32 = (bytes: Uint8Array, before?: number) => number;

/** The library's, for Node 20.19, whose zlib has none; it answers signed and wants to be carried on signed. */
const crc32OfLibrary: Crc32 = (bytes, before = 0) => CRC32.buf(bytes, before | 0) >>> 0;

/** CRC-32 as ZIP uses it (APPNOTE 4.4.7), unsigned; `before` carries on from an earlier part of the same bytes. */
export const crc32: Crc32 =
  'crc32' in zlib && typeof zlib.crc32 === 'function' ? (zlib.crc32 as unknown as Crc32) : crc32OfLibrary;
