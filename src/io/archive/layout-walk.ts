import type { ArchiveShape, NamedRecord } from '../../core/archive-format/archive-shape.ts';
import { type LocalHeader, localHeaderLength, readLocalHeader } from '../../core/archive-format/read-local-header.ts';
import { flagBits, methods } from '../../core/archive-format/signatures.ts';
import { checkContent } from '../../core/checks/archive/check-content.ts';
import { checkGap } from '../../core/checks/archive/check-gap.ts';
import { checkLocalHeader } from '../../core/checks/archive/check-local-header.ts';
import { type Finding, finding } from '../../core/findings/finding.ts';
import type { ArchiveEntry, EntryReading } from '../../core/model/archive-facts.ts';
import type { PassListener } from './archive.ts';
import { createEntryReader, type EntryReader } from './inflate-entry.ts';
import { nameEntry } from './name-entries.ts';
import { GapScan } from './scan-gap.ts';

/** An entry of the directory with its raw record. */
export interface WalkEntry {
  readonly entry: ArchiveEntry;
  readonly record: NamedRecord;
}

type Place =
  | { readonly in: 'gap'; readonly scan: GapScan; readonly until: number }
  | { readonly in: 'header'; bytes: Buffer }
  | { readonly in: 'data'; readonly until: number; readonly reader: EntryReader | undefined }
  | { readonly in: 'directory' };

/**
 * Goes through the file's bytes in order and gives each to what the directory says it is: local header, data, the space
 * between. What the local headers say is compared on the way.
 */
export class LayoutWalk {
  readonly findings: Finding[] = [];
  readonly readings: EntryReading[] = [];
  readonly #entries: readonly WalkEntry[];
  readonly #directoryAt: number;
  readonly #listener: PassListener;
  #next = 0;
  #current: WalkEntry | undefined;
  #local: LocalHeader | undefined;
  #place: Place;
  #at: number;

  /** `entries` in the order of their bytes. */
  constructor(shape: ArchiveShape, entries: readonly WalkEntry[], listener: PassListener) {
    this.#entries = entries;
    this.#directoryAt = shape.directoryAt;
    this.#listener = listener;
    this.#at = 0;
    this.#place = this.#gapFrom(0);
  }

  /** Takes the file's next bytes; the promises are kept by those who need the bytes for longer than this call. */
  async take(chunk: Buffer): Promise<readonly Promise<void>[]> {
    const held: Promise<void>[] = [];
    let used = 0;
    while (used < chunk.length && this.#place.in !== 'directory') {
      const before = used;
      used += await this.#step(chunk.subarray(used), held);
      this.#at += used - before;
      await this.#settle();
    }
    return held;
  }

  /** The file has ended; a header that is still open claims more bytes than the file has. */
  async end(): Promise<void> {
    await this.#settle();
    if (this.#place.in !== 'header') return;
    const { entry } = this.#current as WalkEntry;
    const sizes = { offset: entry.headerOffset, compressedBytes: entry.compressedBytes };
    this.findings.push(finding('archive/entry-outside', entry.name, sizes));
  }

  abandon(): void {
    if (this.#place.in === 'data') this.#place.reader?.abandon();
  }

  /** Gives bytes to the present place; returns how many it took. */
  async #step(bytes: Buffer, held: Promise<void>[]): Promise<number> {
    const place = this.#place;
    if (place.in === 'header') return this.#stepHeader(place, bytes);
    if (place.in === 'directory') return bytes.length;
    const part = bytes.subarray(0, place.until - this.#at);
    if (place.in === 'gap') place.scan.add(part);
    else if (place.reader !== undefined) {
      const { released } = await place.reader.push(part);
      if (released !== undefined) held.push(released);
    }
    return part.length;
  }

  #stepHeader(place: { bytes: Buffer }, bytes: Buffer): number {
    const known = localHeaderLength(place.bytes);
    const wanted = known === undefined || known === -1 ? 30 : known;
    const part = bytes.subarray(0, Math.max(0, wanted - place.bytes.length));
    place.bytes = Buffer.concat([place.bytes, part]);
    return part.length;
  }

  /** Moves on while the present place is full. */
  async #settle(): Promise<void> {
    for (;;) {
      const place = this.#place;
      if (place.in === 'directory') return;
      if (place.in === 'header') {
        const length = localHeaderLength(place.bytes);
        if (length === undefined || (length !== -1 && place.bytes.length < length)) return;
        await this.#endHeader(place.bytes, length);
      } else if (this.#at < place.until) return;
      else if (place.in === 'gap') this.#endGap(place.scan);
      else await this.#endData(place.reader);
    }
  }

  async #endHeader(bytes: Buffer, length: number): Promise<void> {
    const { entry, record } = this.#current as WalkEntry;
    if (length === -1) {
      this.findings.push(finding('archive/local-header-missing', entry.name, { offset: entry.headerOffset }));
      this.#current = undefined;
      this.#place = this.#gapFrom(this.#at);
      return;
    }
    const local = readLocalHeader(bytes);
    this.#local = local;
    this.findings.push(...checkLocalHeader(record, local, nameEntry(local)));
    const until = this.#at + record.compressedBytes;
    if (until > this.#directoryAt) {
      const sizes = { offset: entry.headerOffset, compressedBytes: entry.compressedBytes };
      this.findings.push(finding('archive/entry-outside', entry.name, sizes));
      this.#current = undefined;
      this.#place = this.#gapFrom(this.#at);
      return;
    }
    const reader = this.#isReadable(entry, record, local) ? createEntryReader(entry, this.#listener) : undefined;
    if (reader !== undefined) await this.#listener.entryStart?.(entry);
    this.#place = { in: 'data', until, reader };
  }

  /** Folders and what cannot be unpacked are passed over; both have findings of their own where they matter. */
  #isReadable(entry: ArchiveEntry, record: NamedRecord, local: LocalHeader): boolean {
    const encrypted = ((record.flags | local.flags) & flagBits.encrypted) !== 0;
    return !entry.folder && !encrypted && (entry.method === methods.stored || entry.method === methods.deflate);
  }

  async #endData(reader: EntryReader | undefined): Promise<void> {
    const { entry } = this.#current as WalkEntry;
    if (reader !== undefined) {
      const outcome = await reader.finish();
      const found = checkContent(entry, outcome);
      this.findings.push(...found);
      const reading = { name: entry.name, bytes: outcome.bytes, crc32: outcome.crc32, sha256: outcome.sha256 };
      this.readings.push(reading);
      await this.#listener.entryEnd?.(entry, reading, found.length === 0);
    }
    this.#place = this.#gapFrom(this.#at);
  }

  #endGap(scan: GapScan): void {
    this.findings.push(...checkGap(scan.end(), this.#current?.record, this.#local));
    this.#current = undefined;
    this.#local = undefined;
    while (this.#next < this.#entries.length) {
      const next = this.#entries[this.#next] as WalkEntry;
      if (next.entry.headerOffset > this.#at) break;
      this.#next += 1;
      if (next.entry.headerOffset === this.#at && this.#at < this.#directoryAt) {
        this.#current = next;
        this.#place = { in: 'header', bytes: Buffer.alloc(0) };
        return;
      }
      this.findings.push(finding('archive/entries-overlap', next.entry.name, { offset: next.entry.headerOffset }));
    }
    this.#place = this.#at >= this.#directoryAt ? { in: 'directory' } : this.#gapFrom(this.#at);
  }

  /** Up to the next entry that starts at or after `at`, or to the directory. */
  #gapFrom(at: number): Place {
    let ahead = this.#next;
    while ((this.#entries[ahead]?.entry.headerOffset ?? at) < at) ahead += 1;
    const until = Math.min(this.#entries[ahead]?.entry.headerOffset ?? this.#directoryAt, this.#directoryAt);
    return { in: 'gap', scan: new GapScan(at), until: Math.max(at, until) };
  }
}
