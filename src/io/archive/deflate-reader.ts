import zlib from 'node:zlib';
import type { ContentOutcome } from '../../core/archive-format/reading-facts.ts';
import type { ArchiveEntry } from '../../core/model/archive-facts.ts';
import type { EntryTally } from './entry-tally.ts';
import { inflateProblemOf } from './inflate-at-once.ts';

const inflateChunkBytes = 256 * 1024;

/**
 * Inflates in zlib's own thread while the caller reads on. The file's buffers are handed over without a copy, so each
 * stays taken until zlib has used it; that bounds how far the reading can run ahead.
 */
export class DeflateReader {
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
