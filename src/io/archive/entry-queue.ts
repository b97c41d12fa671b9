import { isAsStated } from '../../core/archive-format/reading-facts.ts';
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

  /** All bytes of the entry were pushed; `place` is where among all that is seen its content belongs. */
  async close(reader: EntryReader, place: number): Promise<void> {
    const heard = this.#hear(reader, place);
    if (!reader.inflatesAside) {
      await heard;
      this.#onTheWay = []; // whatever came before was heard first
      return;
    }
    heard.catch(() => {}); // every later entry, and idle(), fail with the same reason
    this.#onTheWay.push(heard);
    while (this.#onTheWay.length >= mostOnTheWay) {
      await this.#onTheWay[0];
      this.#onTheWay.shift();
    }
  }

  async #hear(reader: EntryReader, place: number): Promise<void> {
    const entry = this.#entries.get(reader) as ArchiveEntry;
    const outcome = await reader.finish();
    this.#entries.delete(reader);
    const sound = isAsStated(entry, outcome);
    const inner = sound ? reader.innerArchive() : undefined;
    const nesting = inner === undefined ? undefined : measureNesting(inner);
    this.#listener.seen?.({ kind: 'content', place, entry, outcome, nesting });
    if (entry.folder) return;
    const reading = { name: entry.name, bytes: outcome.bytes, crc32: outcome.crc32, sha256: outcome.sha256 };
    this.readings.push(reading);
    await this.#listener.entryEnd?.(entry, reading, sound);
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
