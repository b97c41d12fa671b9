import { createHash, type Hash, hash } from 'node:crypto';
import { crc32 } from 'node:zlib';
import type { ContentOutcome } from '../../core/archive-format/reading-facts.ts';
import type { ArchiveEntry } from '../../core/model/archive-facts.ts';
import type { PassListener } from './archive.ts';
import { largestInnerBytes, looksLikeArchive } from './measure-nesting.ts';
import { toHear } from './read-at.ts';

/** Counts, hashes and hands on an entry's uncompressed bytes, never more than the directory states. */
export class EntryTally {
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
    const room = this.#entry.bytes - this.#bytes;
    const kept = chunk.length <= room ? chunk : chunk.subarray(0, room);
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
