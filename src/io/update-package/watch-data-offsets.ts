import type { ArchiveEntry } from '../../core/model/archive-facts.ts';

/** Bytes of a local header up to and with its two variable lengths (APPNOTE 4.3.7: name at 26, extra at 28). */
const lengthsAt = 26;
const fixedBytes = 30;

/** Where the data of one entry starts. */
export interface DataOffset {
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
