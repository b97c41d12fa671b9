import { createHash, type Hash } from 'node:crypto';
import zlib from 'node:zlib';
import type { ContentOutcome } from '../../core/checks/archive/check-content.ts';
import type { ArchiveEntry } from '../../core/model/archive-facts.ts';
import type { PassListener } from './archive.ts';
import { crc32 } from './crc32.ts';

/** Takes the compressed bytes of one entry and hands on the uncompressed ones. */
export interface EntryReader {
  /**
   * Takes the next bytes. Resolves when more may come; the bytes themselves may be needed for longer: the promise in
   * `released`, where there is one, says until when.
   */
  push(bytes: Buffer): Promise<{ readonly released: Promise<void> | undefined }>;
  /** No more bytes come; resolves when the last uncompressed byte was heard. */
  finish(): Promise<ContentOutcome>;
  /** Stops early, also in the middle of a push. */
  abandon(): void;
}

/** Entries up to this size are inflated at once: a stream costs more than it saves. */
const smallBytes = 128 * 1024;
const inflateChunkBytes = 256 * 1024;

export function createEntryReader(entry: ArchiveEntry, listener: PassListener): EntryReader {
  const tally = new Tally(entry, listener);
  if (entry.method === 0) return readStored(tally);
  return entry.bytes <= smallBytes && entry.compressedBytes <= smallBytes
    ? readSmallDeflate(entry, tally)
    : new DeflateReader(entry, tally);
}

/** Counts, hashes and hands on uncompressed bytes, never more than the directory states. */
class Tally {
  readonly #entry: ArchiveEntry;
  readonly #listener: PassListener;
  readonly #sha256: Hash = createHash('sha256');
  #crc32 = 0;
  #bytes = 0;

  constructor(entry: ArchiveEntry, listener: PassListener) {
    this.#entry = entry;
    this.#listener = listener;
  }

  /** False where the bytes go beyond the stated size; what is within it was heard. */
  async add(chunk: Buffer): Promise<boolean> {
    const room = this.#entry.bytes - this.#bytes;
    const kept = chunk.length <= room ? chunk : chunk.subarray(0, room);
    if (kept.length > 0) {
      this.#bytes += kept.length;
      this.#sha256.update(kept);
      this.#crc32 = crc32(kept, this.#crc32);
      const heard = this.#listener.entryData?.(this.#entry, kept);
      if (heard !== undefined) await heard;
    }
    return kept.length === chunk.length;
  }

  outcome(problem: ContentOutcome['problem'], unusedBytes = 0): ContentOutcome {
    const sha256 = this.#sha256.digest('hex');
    return { bytes: this.#bytes, crc32: this.#crc32, sha256, problem, unusedBytes };
  }
}

function readStored(tally: Tally): EntryReader {
  let tooLong = false;
  return {
    async push(bytes) {
      if (!tooLong) tooLong = !(await tally.add(bytes));
      return { released: undefined };
    },
    finish: async () => tally.outcome(tooLong ? 'too-long' : undefined),
    abandon: () => {},
  };
}

function readSmallDeflate(entry: ArchiveEntry, tally: Tally): EntryReader {
  const compressed = Buffer.allocUnsafe(entry.compressedBytes);
  let filled = 0;
  return {
    async push(bytes) {
      filled += bytes.copy(compressed, filled);
      return { released: undefined };
    },
    async finish() {
      const inflated = inflateAtOnce(compressed.subarray(0, filled), entry.bytes);
      if ('problem' in inflated) return tally.outcome(inflated.problem);
      await tally.add(inflated.bytes);
      return tally.outcome(undefined, filled - inflated.usedBytes);
    },
    abandon: () => {},
  };
}

/** With `info` the call also returns the engine, which tells how many bytes it used; the types leave that out. */
const inflateRawWithInfo = zlib.inflateRawSync as unknown as (
  bytes: Buffer,
  options: zlib.ZlibOptions & { readonly info: true },
) => { readonly buffer: Buffer; readonly engine: zlib.InflateRaw };

function inflateAtOnce(
  compressed: Buffer,
  statedBytes: number,
): { readonly bytes: Buffer; readonly usedBytes: number } | { readonly problem: ContentOutcome['problem'] } {
  try {
    const { buffer, engine } = inflateRawWithInfo(compressed, {
      chunkSize: Math.max(64, statedBytes + 1),
      maxOutputLength: Math.max(1, statedBytes),
      info: true,
    });
    return buffer.length > statedBytes ? { problem: 'too-long' } : { bytes: buffer, usedBytes: engine.bytesWritten };
  } catch (cause) {
    return { problem: problemOf(cause) };
  }
}

function problemOf(cause: unknown): ContentOutcome['problem'] {
  const code = cause instanceof Error && 'code' in cause ? cause.code : undefined;
  if (code === 'Z_BUF_ERROR') return 'ends-early';
  if (code === 'ERR_BUFFER_TOO_LARGE') return 'too-long';
  if (code === 'Z_DATA_ERROR') return 'not-deflate';
  throw cause;
}

/**
 * Inflates in zlib's own thread while the caller reads on. The file's buffers are handed over without a copy, so each
 * stays taken until zlib has used it; that bounds how far the reading can run ahead.
 */
class DeflateReader implements EntryReader {
  readonly #inflate: zlib.InflateRaw;
  readonly #consumed: Promise<ContentOutcome>;
  readonly #waiting = new Set<() => void>();
  #ended = false;

  constructor(entry: ArchiveEntry, tally: Tally) {
    this.#inflate = zlib.createInflateRaw({ chunkSize: inflateChunkBytes });
    this.#consumed = this.#consume(entry, tally);
    this.#consumed.catch(() => {}); // heard again in push() or finish()
  }

  async #consume(entry: ArchiveEntry, tally: Tally): Promise<ContentOutcome> {
    let problem: ContentOutcome['problem'];
    const chunks = this.#inflate[Symbol.asyncIterator]();
    try {
      for (;;) {
        const next = await chunks.next().catch((cause: unknown) => {
          problem = problemOf(cause);
          return { done: true as const, value: undefined };
        });
        if (next.done === true) break;
        if (!(await tally.add(next.value))) {
          problem = 'too-long';
          break;
        }
      }
    } finally {
      this.abandon();
    }
    const unusedBytes = problem === undefined ? entry.compressedBytes - this.#inflate.bytesWritten : 0;
    return tally.outcome(problem, unusedBytes);
  }

  async push(bytes: Buffer): Promise<{ readonly released: Promise<void> | undefined }> {
    if (this.#ended) {
      await this.#consumed; // a listener's throw comes out here
      return { released: undefined };
    }
    const released = new Promise<void>((resolve) => {
      this.#waiting.add(resolve);
      this.#inflate.write(bytes, () => {
        this.#waiting.delete(resolve);
        resolve();
      });
    });
    return { released };
  }

  async finish(): Promise<ContentOutcome> {
    if (!this.#ended) this.#inflate.end();
    return await this.#consumed;
  }

  /** After the end of a deflate stream zlib never answers for bytes that follow, so all who wait are released here. */
  abandon(): void {
    this.#ended = true;
    this.#inflate.destroy();
    for (const release of this.#waiting) release();
    this.#waiting.clear();
  }
}
