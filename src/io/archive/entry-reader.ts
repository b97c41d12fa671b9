import { createHash, type Hash, hash } from 'node:crypto';
import zlib, { crc32 } from 'node:zlib';
import type { ContentOutcome } from '../../core/archive-format/reading-facts.ts';
import { methods } from '../../core/archive-format/signatures.ts';
import type { ArchiveEntry } from '../../core/model/archive-facts.ts';
import type { PassListener } from './archive.ts';
import { inflateAtOnce, inflateProblemOf } from './inflate-at-once.ts';
import { largestInnerBytes, looksLikeArchive } from './measure-nesting.ts';
import { toHear } from './read-at.ts';

/** Takes the compressed bytes of one entry and hands on the uncompressed ones. */
export interface EntryReader {
  /** Its bytes may still be on their way, in another thread, when the last was pushed. */
  readonly inflatesAside: boolean;
  /**
   * Takes the next bytes; a promise where the next must wait. Where these are needed after the call, a promise in
   * `held` tells until when.
   */
  push(bytes: Buffer, held: Promise<void>[]): Promise<void> | undefined;
  /** No more bytes come; resolves when the last uncompressed byte was heard. */
  finish(): Promise<ContentOutcome>;
  /** The uncompressed bytes, where they are a small archive; to be asked after `finish`. */
  innerArchive(): Uint8Array | undefined;
  /** Stops early, also in the middle of a push. */
  abandon(): void;
}

/** Entries up to this size are inflated at once: a stream costs more than it saves. */
const smallBytes = 64 * 1024;

/** `before` settles when the entries before this one were heard; undefined where they were. */
export function createEntryReader(
  entry: ArchiveEntry,
  listener: PassListener,
  before: Promise<void> | undefined,
): EntryReader {
  const tally = new EntryTally(entry, listener, before);
  if (entry.method === methods.stored) return readStored(tally);
  return entry.bytes <= smallBytes && entry.compressedBytes <= smallBytes
    ? readSmallDeflate(entry, tally)
    : new DeflateReader(entry, tally);
}

function readStored(tally: EntryTally): EntryReader {
  let tooLong = false;
  return {
    inflatesAside: false,
    async push(bytes) {
      if (!tooLong) tooLong = !(await tally.add(bytes));
    },
    finish: () => tally.end(tooLong ? 'too-long' : undefined),
    innerArchive: () => tally.innerArchive(),
    abandon: () => {},
  };
}

function readSmallDeflate(entry: ArchiveEntry, tally: EntryTally): EntryReader {
  let compressed: Buffer = Buffer.alloc(0);
  return {
    inflatesAside: false,
    push(bytes) {
      compressed = compressed.length === 0 ? Buffer.from(bytes) : Buffer.concat([compressed, bytes]);
      return undefined;
    },
    async finish() {
      const inflated = inflateAtOnce(compressed, entry.bytes);
      if ('problem' in inflated) return tally.end(inflated.problem);
      await tally.add(inflated.bytes);
      return tally.end(undefined, compressed.length - inflated.usedBytes);
    },
    innerArchive: () => tally.innerArchive(),
    abandon: () => {},
  };
}

const inflateChunkBytes = 256 * 1024;

/**
 * Inflates in zlib's own thread while the caller reads on. The file's buffers are handed over without a copy, so each
 * stays taken until zlib has used it; that bounds how far the reading can run ahead.
 */
class DeflateReader {
  readonly inflatesAside = true;
  readonly #inflate: zlib.InflateRaw;
  readonly #tally: EntryTally;
  readonly #heard: Promise<ContentOutcome>;
  readonly #waiting = new Set<() => void>();
  #ended = false;

  constructor(entry: ArchiveEntry, tally: EntryTally) {
    const chunkSize = Math.min(inflateChunkBytes, Math.max(64, entry.bytes + 1));
    this.#inflate = zlib.createInflateRaw({ chunkSize });
    this.#tally = tally;
    this.#heard = this.#hear(entry, tally);
    this.#heard.catch(() => {}); // thrown again from push() or finish()
  }

  async #hear(entry: ArchiveEntry, tally: EntryTally): Promise<ContentOutcome> {
    let problem: ContentOutcome['problem'];
    const chunks = this.#inflate[Symbol.asyncIterator]();
    try {
      for (;;) {
        const next = await chunks.next().catch((cause: unknown) => {
          problem = inflateProblemOf(cause);
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
    return await tally.end(problem, problem === undefined ? entry.compressedBytes - this.#inflate.bytesWritten : 0);
  }

  push(bytes: Buffer, held: Promise<void>[]): Promise<void> | undefined {
    if (this.#ended) return this.#heard.then(() => {}); // what a listener threw comes out here
    const released = new Promise<void>((resolve) => {
      this.#waiting.add(resolve);
      this.#inflate.write(bytes, () => {
        this.#waiting.delete(resolve);
        resolve();
      });
    });
    held.push(released);
    return undefined;
  }

  async finish(): Promise<ContentOutcome> {
    if (!this.#ended) this.#inflate.end();
    return await this.#heard;
  }

  innerArchive(): Uint8Array | undefined {
    return this.#tally.innerArchive();
  }

  /** After the end of a deflate stream zlib never answers for bytes that follow, so all who wait are released here. */
  abandon(): void {
    this.#ended = true;
    this.#inflate.destroy();
    for (const release of this.#waiting) release();
    this.#waiting.clear();
  }
}

/** Counts, hashes and hands on an entry's uncompressed bytes, never more than the directory states. */
class EntryTally {
  readonly #entry: ArchiveEntry;
  readonly #listener: PassListener;
  readonly #before: Promise<void> | undefined;
  #hash: Hash | undefined;
  /** Known at once where one chunk is the whole entry, which spares many small entries a hash object each. */
  #sha256: string | undefined;
  #started = false;
  #crc32 = 0;
  /** Copies of the chunks so far, while the entry may be a small archive. */
  #kept: Buffer[] | undefined;
  #bytes = 0;

  /** `before` settles when the entries before were heard. */
  constructor(entry: ArchiveEntry, listener: PassListener, before: Promise<void> | undefined) {
    this.#entry = entry;
    this.#listener = listener;
    this.#before = before;
  }

  async #start(): Promise<void> {
    this.#started = true;
    await this.#before;
    await this.#listener.entryStart?.(this.#entry);
  }

  /** False where the bytes go beyond the stated size; what is within it was heard. */
  async add(chunk: Buffer): Promise<boolean> {
    if (!this.#started) await this.#start();
    const wanted = this.#entry.bytes - this.#bytes;
    const kept = chunk.length <= wanted ? chunk : chunk.subarray(0, wanted);
    if (kept.length > 0) {
      this.#digest(kept);
      this.#keep(kept);
      this.#bytes += kept.length;
      this.#crc32 = crc32(kept, this.#crc32);
      const heard = this.#listener.entryData?.(this.#entry, toHear(kept));
      if (heard !== undefined) await heard;
    }
    return kept.length === chunk.length;
  }

  #digest(chunk: Buffer): void {
    if (this.#bytes === 0 && chunk.length === this.#entry.bytes) this.#sha256 = hash('sha256', chunk);
    else {
      this.#hash ??= createHash('sha256');
      this.#hash.update(chunk);
    }
  }

  #keep(chunk: Buffer): void {
    if (this.#bytes === 0 && this.#entry.bytes <= largestInnerBytes && looksLikeArchive(chunk)) this.#kept = [];
    this.#kept?.push(Buffer.from(chunk));
  }

  innerArchive(): Uint8Array | undefined {
    return this.#kept === undefined ? undefined : Buffer.concat(this.#kept);
  }

  async end(problem: ContentOutcome['problem'], unusedBytes = 0): Promise<ContentOutcome> {
    if (!this.#started) await this.#start();
    const sha256 = this.#sha256 ?? this.#hash?.digest('hex') ?? hash('sha256', '');
    return { bytes: this.#bytes, crc32: this.#crc32, sha256, problem, unusedBytes };
  }
}
