import zlib from 'node:zlib';
import type { ContentOutcome } from '../../core/archive-format/reading-facts.ts';

/** With `info` the call also returns the engine, which tells how many bytes it used; the types leave that out. */
const inflateRawWithInfo = zlib.inflateRawSync as unknown as (
  bytes: Uint8Array,
  options: zlib.ZlibOptions & { readonly info: true },
) => { readonly buffer: Buffer; readonly engine: zlib.InflateRaw };

type Inflated =
  | { readonly bytes: Buffer; readonly usedBytes: number }
  | { readonly problem: ContentOutcome['problem'] };

/** Inflates a whole deflate stream, to at most `largestBytes`. */
export function inflateAtOnce(compressed: Uint8Array, largestBytes: number): Inflated {
  try {
    const { buffer, engine } = inflateRawWithInfo(compressed, {
      chunkSize: Math.max(64, largestBytes + 1),
      maxOutputLength: Math.max(1, largestBytes),
      info: true,
    });
    return buffer.length > largestBytes ? { problem: 'too-long' } : { bytes: buffer, usedBytes: engine.bytesWritten };
  } catch (cause) {
    return { problem: inflateProblemOf(cause) };
  }
}

/** What is wrong with the data, by zlib's error; any other error is thrown on. */
export function inflateProblemOf(cause: unknown): ContentOutcome['problem'] {
  const code = cause instanceof Error && 'code' in cause ? cause.code : undefined;
  if (code === 'Z_BUF_ERROR') return 'ends-early';
  if (code === 'ERR_BUFFER_TOO_LARGE') return 'too-long';
  if (code === 'Z_DATA_ERROR') return 'not-deflate';
  throw cause;
}

/** The first bytes of a deflate stream, as far as a few compressed ones give them; nothing where it is damaged. */
export function inflateStart(compressed: Uint8Array): Uint8Array {
  try {
    return zlib.inflateRawSync(compressed.subarray(0, 512), { finishFlush: zlib.constants.Z_SYNC_FLUSH });
  } catch {
    return new Uint8Array();
  }
}
