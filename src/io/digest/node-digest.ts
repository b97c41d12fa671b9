import { createHash } from 'node:crypto';
import { crc32 } from 'node:zlib';
import type { Sha256 } from '../../core/documents/own-digest.ts';
import type { Digesting } from './digest.ts';

/** By Node's crypto. */
export const sha256: Sha256 = (text) => createHash('sha256').update(text).digest('hex');

/** SHA-256 by Node's crypto; CRC-32 by zlib. */
export const nodeDigesting: Digesting = {
  start(crc) {
    const hash = createHash('sha256');
    let running = 0;
    return {
      update(chunk) {
        hash.update(chunk);
        if (crc) running = crc32(chunk, running);
      },
      end: () => ({ sha256: hash.digest('hex'), crc32: running }),
    };
  },
  sha256,
};
