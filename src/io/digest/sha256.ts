import { createHash } from 'node:crypto';
import type { Sha256 } from '../../core/documents/own-digest.ts';

/** By Node's crypto. */
export const sha256: Sha256 = (text) => {
  const hash = createHash('sha256');
  for (const piece of typeof text === 'string' ? [text] : text) hash.update(piece);
  return hash.digest('hex');
};
