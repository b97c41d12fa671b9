import { createHash } from 'node:crypto';
import { crc32 } from '../archive/crc32.ts';
import { startAsideDigesting } from './aside-digest.ts';
import type { Digesting } from './digest.ts';
import { sha256 } from './sha256.ts';

/** SHA-256 by Node's crypto; CRC-32 by zlib where Node has it. */
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
  ...startAsideDigesting(),
};
