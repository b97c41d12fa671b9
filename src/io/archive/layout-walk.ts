import type { CentralRecord } from '../../core/archive-format/read-central-directory.ts';
import type { ArchiveShape } from '../../core/archive-format/read-end-records.ts';
import { type LocalHeader, localHeaderLength, readLocalHeader } from '../../core/archive-format/read-local-header.ts';
import { fixedBytes, flagBits, methods } from '../../core/archive-format/signatures.ts';
import { checkGap, emptyGap } from '../../core/checks/archive/check-gap.ts';
import { checkLocalHeader } from '../../core/checks/archive/check-local-header.ts';
import { type Finding, finding } from '../../core/findings/finding.ts';
import type { ArchiveEntry, EntryReading } from '../../core/model/archive-facts.ts';
import type { PassListener } from './archive.ts';
import { collectHeader } from './collect-header.ts';
import { EntryQueue } from './entry-queue.ts';
import type { EntryReader } from './entry-reader.ts';
import { nameLocalHeader } from './name-entries.ts';
import { GapScan } from './scan-gap.ts';

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

const none = Buffer.alloc(0);

/**
 * Goes through the file's bytes in order and gives each to what the directory says it is: local header, data, the space
 * between. What the local headers say is compared on the way.
 */
export class LayoutWalk {
  readonly #shape: ArchiveShape;
  readonly #entries: readonly WalkEntry[];
  readonly #queue: EntryQueue;
  /** In file order; an entry's own list is filled when its content has been heard. */
  readonly #found: (readonly Finding[])[] = [];
  #next = 0;
  /** The entry whose data ended last and its local header; what follows may be its descriptor. */
  #before: { readonly record: CentralRecord; readonly local: LocalHeader } | undefined;
  #place: Place;
  #at = 0;

  /** `entries` in the order of their bytes. */
  constructor(shape: ArchiveShape, entries: readonly WalkEntry[], listener: PassListener) {
    this.#shape = shape;
    this.#entries = entries;
    this.#queue = new EntryQueue(listener);
    this.#place = this.#gapFrom(0);
  }

  get readings(): readonly EntryReading[] {
    return this.#queue.readings;
  }

  /** Complete after `end`. */
  get findings(): readonly Finding[] {
    return this.#found.flat();
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

  #note(...found: readonly Finding[]): void {
    if (found.length > 0) this.#found.push(found);
  }

  /** Where the directory alone shows it, its own check has said so. */
  #noteOutside({ name, headerOffset, compressedBytes }: ArchiveEntry): void {
    if (headerOffset + fixedBytes.localHeader + compressedBytes > this.#shape.directoryAt) return;
    this.#note(finding('archive/entry-outside', name, { offset: headerOffset, compressedBytes }));
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
    const found = await this.#queue.close(reader);
    if (!this.#queue.isHeard(reader) || found.length > 0) this.#found.push(found);
    this.#place = this.#gapFrom(this.#at);
    await this.#settle();
  }

  #afterHeader({ entry, record }: WalkEntry, bytes: Buffer, length: number): Place {
    if (length === -1) {
      this.#note(finding('archive/local-header-missing', entry.name, { offset: entry.headerOffset }));
      return this.#gapFrom(this.#at);
    }
    const local = readLocalHeader(bytes);
    this.#note(...checkLocalHeader(record, entry.headerOffset, local, nameLocalHeader(this.#shape, record, local)));
    const until = this.#at + record.compressedBytes;
    if (until > this.#shape.directoryAt) {
      this.#noteOutside(entry);
      return this.#gapFrom(this.#at);
    }
    this.#before = { record, local };
    return { in: 'data', until, reader: isReadable(entry, record, local) ? this.#queue.open(entry) : undefined };
  }

  #afterGap({ from, scan }: Extract<Place, { in: 'gap' }>): Place {
    this.#note(...checkGap(scan?.end() ?? emptyGap(from), this.#before?.record, this.#before?.local));
    this.#before = undefined;
    const { directoryAt } = this.#shape;
    for (; this.#next < this.#entries.length; this.#next += 1) {
      const next = this.#entries[this.#next] as WalkEntry;
      if (next.entry.headerOffset > this.#at || this.#at >= directoryAt) break;
      if (next.entry.headerOffset === this.#at) {
        this.#next += 1;
        return { in: 'header', of: next, bytes: none };
      }
      this.#note(finding('archive/entries-overlap', next.entry.name, { offset: next.entry.headerOffset }));
    }
    return this.#at >= directoryAt ? this.#reachDirectory() : this.#gapFrom(this.#at);
  }

  /** Entries that start before this point and were not reached lie under others. */
  #reachDirectory(): Place {
    for (const { entry } of this.#entries.slice(this.#next)) {
      if (entry.headerOffset >= this.#shape.directoryAt) break; // the directory's checks say so
      this.#note(finding('archive/entries-overlap', entry.name, { offset: entry.headerOffset }));
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
