import type { ArchiveEntry } from '../../core/model/archive-facts.ts';
import type { MetadataReading } from '../../core/update-package/metadata.ts';
import type { MetadataForm } from '../../core/update-package/update-package-facts.ts';

/** An entry that was heard; `bytes` is undefined where it was larger than anyone would keep. */
export interface SmallEntry {
  readonly size: number;
  readonly bytes: Uint8Array | undefined;
}

/** Keeps the first entry of that path, up to `largestBytes`; whatever size the directory states. */
export function watchSmallEntry(path: string, largestBytes: number) {
  let open = false;
  let size = 0;
  let kept: Uint8Array[] = [];
  let entry: SmallEntry | undefined;
  return {
    start(started: ArchiveEntry): void {
      open = started.name === path && entry === undefined;
    },
    data(chunk: Uint8Array): void {
      if (!open) return;
      size += chunk.length;
      if (size > largestBytes) kept = [];
      else kept.push(chunk.slice());
    },
    end(): void {
      if (open) entry = { size, bytes: size > largestBytes ? undefined : Buffer.concat(kept) };
      open = false;
    },
    found: (): SmallEntry | undefined => entry,
  };
}

/** One form of the metadata, read by `parse` where it is there. */
export function metadataForm(
  entry: SmallEntry | undefined,
  parse: (bytes: Uint8Array) => MetadataReading | undefined,
): MetadataForm {
  if (entry === undefined) return { state: 'absent' };
  if (entry.bytes === undefined) return { state: 'too-large', bytes: entry.size };
  const metadata = parse(entry.bytes);
  return metadata === undefined ? { state: 'unreadable' } : { state: 'read', metadata };
}

/** Bytes of a local header up to and with its two variable lengths (APPNOTE 4.3.7: name at 26, extra at 28). */
const lengthsAt = 26;
const fixedBytes = 30;

/** Where the data of one entry starts. */
interface DataOffset {
  readonly entry: ArchiveEntry;
  readonly offset: number;
}

/**
 * Hears the raw bytes of an archive and picks from each local header where the entry's data starts. A header that the
 * file does not reach, or that begins inside the lengths of the one before, gives no offset.
 */
export function watchDataOffsets(entries: readonly ArchiveEntry[]) {
  const waiting = entries.toSorted((a, b) => a.headerOffset - b.headerOffset);
  const found: DataOffset[] = [];
  const lengths = new Uint8Array(fixedBytes - lengthsAt);
  let next = 0;
  let position = 0;
  return {
    raw(chunk: Uint8Array): void {
      const end = position + chunk.length;
      for (let entry = waiting[next]; entry !== undefined; entry = waiting[next]) {
        const start = entry.headerOffset + lengthsAt;
        const from = Math.max(start, position);
        const to = Math.min(start + lengths.length, end);
        if (start >= end) break;
        if (from < to) lengths.set(chunk.subarray(from - position, to - position), from - start);
        if (start + lengths.length > end) break;
        if (start + lengths.length > position) found.push({ entry, offset: dataOffset(entry, lengths) });
        next += 1;
      }
      position = end;
    },
    found: (): readonly DataOffset[] => found,
  };
}

function dataOffset(entry: ArchiveEntry, lengths: Uint8Array): number {
  const view = new DataView(lengths.buffer);
  return entry.headerOffset + fixedBytes + view.getUint16(0, true) + view.getUint16(2, true);
}
