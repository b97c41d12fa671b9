import { hmac } from '@noble/hashes/hmac.js';
import { sha256 } from '@noble/hashes/sha2.js';
import { bytesToHex, hexToBytes, utf8ToBytes } from '@noble/hashes/utils.js';
import { deflateSync, inflateSync, strFromU8, strToU8 } from 'fflate';
import type { PocketTools } from '../core/rounds/pocket/read-pocket.ts';

/**
 * What core asks for, in plain script: a page that was opened from a file need not have the browser's own cryptography
 * (Web Cryptography, section 7: secure contexts only), and its streams for packing are younger than some phones.
 */
export const phoneTools: PocketTools = {
  sha256: (text) => bytesToHex(sha256(utf8ToBytes(text))),
  hmac: (secret, text) => bytesToHex(hmac(sha256, hexToBytes(secret), utf8ToBytes(text))),
  pack: (text, dictionary) => deflateSync(strToU8(text), { level: 9, dictionary: strToU8(dictionary) }),
  unpack: (bytes, dictionary, mostBytes) => {
    const unpacked = inflateSync(bytes, { dictionary: strToU8(dictionary) });
    if (unpacked.length > mostBytes) throw new RangeError(`more than ${mostBytes} bytes`);
    return strFromU8(unpacked);
  },
};
