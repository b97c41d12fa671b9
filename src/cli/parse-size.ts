import { readByteSize } from '../core/text/byte-size.ts';
import { UsageError } from './usage-error.ts';

/** Bytes of a size on the command line: `16GB`, `32 KiB`, `65536`. */
export function parseSize(option: string, text: string): number {
  try {
    const plain = /^\d+$/.test(text.trim());
    const bytes = plain ? Number(text) : readByteSize(text.trim());
    if (Number.isSafeInteger(bytes) && bytes > 0) return bytes;
  } catch {
    // said below
  }
  throw new UsageError(`${option} ${text} is no size.`, 'Write it like 16GB, 512 MiB or 65536.');
}
