import { checkContent } from '../../core/checks/archive/check-content.ts';
import { checkNesting } from '../../core/checks/archive/check-nesting.ts';
import type { Finding } from '../../core/findings/finding.ts';
import type { ArchiveEntry, EntryReading } from '../../core/model/archive-facts.ts';
import type { PassListener } from './archive.ts';
import { createEntryReader, type EntryReader } from './entry-reader.ts';
import { measureNesting } from './measure-nesting.ts';

/** How many entries may be on their way at once; more would not keep more cores busy. */
const mostOnTheWay = 3;

/**
 * Entries inflate side by side, in zlib's threads, and are heard one after another, in file order. Where one fails, all
 * that follow fail with the same reason.
 */
export class EntryQueue {
  readonly readings: EntryReading[] = [];
  readonly #listener: PassListener;
  readonly #entries = new Map<EntryReader, ArchiveEntry>();
  #onTheWay: Promise<void>[] = [];

  constructor(listener: PassListener) {
    this.#listener = listener;
  }

  /** The content of folders is checked too, what little it may be, but nobody hears of it. */
  open(entry: ArchiveEntry): EntryReader {
    const reader = createEntryReader(entry, entry.folder ? {} : this.#listener, this.#onTheWay.at(-1));
    this.#entries.set(reader, entry);
    return reader;
  }

  /** All bytes of the entry were pushed. The list is filled when its last byte was heard. */
  async close(reader: EntryReader): Promise<readonly Finding[]> {
    const found: Finding[] = [];
    const heard = this.#hear(reader, found);
    if (!reader.inflatesAside) {
      await heard;
      this.#onTheWay = []; // whatever came before was heard first
      return found;
    }
    heard.catch(() => {}); // every later entry, and idle(), fail with the same reason
    this.#onTheWay.push(heard);
    while (this.#onTheWay.length >= mostOnTheWay) {
      await this.#onTheWay[0];
      this.#onTheWay.shift();
    }
    return found;
  }

  async #hear(reader: EntryReader, found: Finding[]): Promise<void> {
    const entry = this.#entries.get(reader) as ArchiveEntry;
    const outcome = await reader.finish();
    this.#entries.delete(reader);
    found.push(...checkContent(entry, outcome));
    const inner = found.length === 0 ? reader.innerArchive() : undefined;
    if (inner !== undefined) found.push(...checkNesting(entry, measureNesting(inner)));
    if (entry.folder) return;
    const reading = { name: entry.name, bytes: outcome.bytes, crc32: outcome.crc32, sha256: outcome.sha256 };
    this.readings.push(reading);
    await this.#listener.entryEnd?.(entry, reading, found.length === 0);
  }

  isHeard(reader: EntryReader): boolean {
    return !this.#entries.has(reader);
  }

  /** Resolves when every entry was heard. */
  async idle(): Promise<void> {
    await Promise.all(this.#onTheWay);
    this.#onTheWay = [];
  }

  abandon(): void {
    for (const reader of this.#entries.keys()) reader.abandon();
    this.#entries.clear();
  }
}
