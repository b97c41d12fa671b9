import type { ContentOutcome } from '../../core/archive-format/reading-facts.ts';
import { methods } from '../../core/archive-format/signatures.ts';
import type { ArchiveEntry } from '../../core/model/archive-facts.ts';
import type { PassListener } from './archive.ts';
import { DeflateReader } from './deflate-reader.ts';
import { EntryTally } from './entry-tally.ts';
import { inflateAtOnce } from './inflate-at-once.ts';

/** Takes the compressed bytes of one entry and hands on the uncompressed ones. */
export interface EntryReader {
  /** Its bytes may still be on their way, in another thread, when the last was pushed. */
  readonly inflatesAside: boolean;
  /**
   * Takes the next bytes; a promise where the next must wait. Where these are needed after the call, a promise in `held`
   * tells until when.
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
