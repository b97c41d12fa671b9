import type { CentralRecord } from '../../core/archive-format/read-central-directory.ts';
import type { ArchiveShape } from '../../core/archive-format/read-end-records.ts';
import { type LocalHeader, localHeaderLength, readLocalHeader } from '../../core/archive-format/read-local-header.ts';
import { emptyGap, type PassFact } from '../../core/archive-format/reading-facts.ts';
import { fixedBytes, flagBits, methods } from '../../core/archive-format/signatures.ts';
import type { ArchiveEntry, EntryReading } from '../../core/model/archive-facts.ts';
import type { PassListener } from './archive.ts';
import { EntryQueue } from './entry-queue.ts';
import type { EntryReader } from './entry-reader.ts';
import { collectHeader, GapScan } from './walk-places.ts';
import { nameLocalHeader } from './zip-library.ts';

/** An entry of the directory with its raw record. */
export interface WalkEntry {
  readonly entry: ArchiveEntry;
  readonly record: CentralRecord;
}

type Place =
  | { readonly in: 'gap'; readonly from: number; readonly until: number; scan: GapScan | undefined }
  | { readonly in: 'header'; readonly of: WalkEntry; bytes: Buffer }
  | { readonly in: 'data'; readonly until: number; readonly reader: EntryReader | undefined }
  | { readonly in: 'directory' };

/** Of each kind of fact for itself. */
type WithoutPlace<Fact> = Fact extends unknown ? Omit<Fact, 'place'> : never;

const none = Buffer.alloc(0);

/**
 * Goes through the file's bytes in order and gives each to what the directory says it is: local header, data, the space
 * between. What the local headers say, and what lies between, is said on the way.
 */
export class LayoutWalk {
  readonly #shape: ArchiveShape;
  readonly #entries: readonly WalkEntry[];
  readonly #queue: EntryQueue;
  readonly #listener: PassListener;
  /** How much was seen so far; an entry's content has its place before it has been heard. */
  #places = 0;
  #next = 0;
  /** The entry whose data ended last and its local header; what follows may be its descriptor. */
  #before: { readonly record: CentralRecord; readonly local: LocalHeader } | undefined;
  #place: Place;
  #at = 0;

  /** `entries` in the order of their bytes. */
  constructor(shape: ArchiveShape, entries: readonly WalkEntry[], listener: PassListener) {
    this.#shape = shape;
    this.#entries = entries;
    this.#listener = listener;
    this.#queue = new EntryQueue(listener);
    this.#place = this.#gapFrom(0);
  }

  get readings(): readonly EntryReading[] {
    return this.#queue.readings;
  }

  /** Takes the file's next bytes; the promises tell until when they are needed. */
  async take(chunk: Buffer): Promise<readonly Promise<void>[]> {
    const held: Promise<void>[] = [];
    let used = 0;
    while (used < chunk.length && this.#place.in !== 'directory') {
      const { taken, wait } = this.#step(this.#place, chunk.subarray(used), held);
      if (wait !== undefined) await wait;
      used += taken;
      this.#at += taken;
      const settled = this.#settle();
      if (settled !== undefined) await settled;
    }
    return held;
  }

  /** The file has ended; a header that is still open claims more bytes than the file has. */
  async end(): Promise<void> {
    await this.#settle();
    if (this.#place.in === 'header') this.#noteOutside(this.#place.of.entry);
    await this.#queue.idle();
  }

  abandon(): void {
    this.#queue.abandon();
  }

  #note(fact: WithoutPlace<PassFact>): void {
    this.#listener.seen?.({ ...fact, place: this.#places++ });
  }

  /** Where the directory alone shows it, its own check has said so. */
  #noteOutside(entry: ArchiveEntry): void {
    const { headerOffset, compressedBytes } = entry;
    if (headerOffset + fixedBytes.localHeader + compressedBytes > this.#shape.directoryAt) return;
    this.#note({ kind: 'outside', entry });
  }

  /** Gives bytes to the present place; says how many it took, and what to wait for. Most steps need no waiting. */
  #step(
    place: Exclude<Place, { in: 'directory' }>,
    bytes: Buffer,
    held: Promise<void>[],
  ): { readonly taken: number; readonly wait: Promise<void> | undefined } {
    if (place.in === 'header') return { taken: collectHeader(place, bytes), wait: undefined };
    const part = bytes.subarray(0, place.until - this.#at);
    if (place.in === 'gap') {
      place.scan ??= new GapScan(place.from);
      place.scan.add(part);
      return { taken: part.length, wait: undefined };
    }
    return { taken: part.length, wait: place.reader?.push(part, held) };
  }

  /** Moves on while the present place is full. */
  #settle(): Promise<void> | undefined {
    for (;;) {
      const place = this.#place;
      if (place.in === 'directory') return undefined;
      if (place.in === 'header') {
        const length = localHeaderLength(place.bytes);
        if (length === undefined || place.bytes.length < length) return undefined;
        this.#place = this.#afterHeader(place.of, place.bytes, length);
      } else if (this.#at < place.until) return undefined;
      else if (place.in === 'gap') this.#place = this.#afterGap(place);
      else if (place.reader !== undefined) return this.#closeEntry(place.reader);
      else this.#place = this.#gapFrom(this.#at);
    }
  }

  async #closeEntry(reader: EntryReader): Promise<void> {
    await this.#queue.close(reader, this.#places++);
    this.#place = this.#gapFrom(this.#at);
    await this.#settle();
  }

  #afterHeader({ entry, record }: WalkEntry, bytes: Buffer, length: number): Place {
    if (length === -1) {
      this.#note({ kind: 'header-missing', entry });
      return this.#gapFrom(this.#at);
    }
    const local = readLocalHeader(bytes);
    const name = nameLocalHeader(this.#shape, record, local);
    this.#note({ kind: 'local-header', record, offset: entry.headerOffset, local, name });
    const until = this.#at + record.compressedBytes;
    if (until > this.#shape.directoryAt) {
      this.#noteOutside(entry);
      return this.#gapFrom(this.#at);
    }
    this.#before = { record, local };
    return { in: 'data', until, reader: isReadable(entry, record, local) ? this.#queue.open(entry) : undefined };
  }

  #afterGap({ from, scan }: Extract<Place, { in: 'gap' }>): Place {
    const { record, local } = this.#before ?? { record: undefined, local: undefined };
    this.#note({ kind: 'gap', gap: scan?.end() ?? emptyGap(from), record, local });
    this.#before = undefined;
    const { directoryAt } = this.#shape;
    for (; this.#next < this.#entries.length; this.#next += 1) {
      const next = this.#entries[this.#next] as WalkEntry;
      if (next.entry.headerOffset > this.#at || this.#at >= directoryAt) break;
      if (next.entry.headerOffset === this.#at) {
        this.#next += 1;
        return { in: 'header', of: next, bytes: none };
      }
      this.#note({ kind: 'overlap', entry: next.entry });
    }
    return this.#at >= directoryAt ? this.#reachDirectory() : this.#gapFrom(this.#at);
  }

  /** Entries that start before this point and were not reached lie under others. */
  #reachDirectory(): Place {
    for (const { entry } of this.#entries.slice(this.#next)) {
      if (entry.headerOffset >= this.#shape.directoryAt) break; // the directory's checks say so
      this.#note({ kind: 'overlap', entry });
    }
    return { in: 'directory' };
  }

  /** Up to the next entry that starts at or after `at`, or to the directory. */
  #gapFrom(at: number): Place {
    let ahead = this.#next;
    while ((this.#entries[ahead]?.entry.headerOffset ?? at) < at) ahead += 1;
    const { directoryAt } = this.#shape;
    const until = Math.min(this.#entries[ahead]?.entry.headerOffset ?? directoryAt, directoryAt);
    return { in: 'gap', from: at, until: Math.max(at, until), scan: undefined };
  }
}

/** Whether the entry can be unpacked; where it cannot, the directory's checks say why. */
function isReadable(entry: ArchiveEntry, record: CentralRecord, local: LocalHeader): boolean {
  const encrypted = ((record.flags | local.flags) & flagBits.encrypted) !== 0;
  const empty = entry.folder && entry.compressedBytes === 0;
  return !empty && !encrypted && (entry.method === methods.stored || entry.method === methods.deflate);
}
