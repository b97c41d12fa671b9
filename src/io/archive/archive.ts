import type { DirectoryFacts, PassFact } from '../../core/archive-format/reading-facts.ts';
import type { ArchiveEntry, ArchiveFacts, AskedDigest, Digests, EntryReading } from '../../core/model/archive-facts.ts';

/**
 * Hears an archive being read, once, from its first byte to its last. Every call is awaited, so a slow listener slows
 * the reading instead of filling memory. A chunk is only valid until the call returns: copy what must outlive it.
 */
export interface PassListener {
  /** Every byte of the file, in order. */
  raw?(chunk: Uint8Array): void | Promise<void>;
  entryStart?(entry: ArchiveEntry): void | Promise<void>;
  /** Uncompressed bytes of the entry that started last, in order. */
  entryData?(entry: ArchiveEntry, chunk: Uint8Array): void | Promise<void>;
  /** The entry is complete; `sound` is false where its bytes do not match the directory. */
  entryEnd?(entry: ArchiveEntry, reading: EntryReading, sound: boolean): void | Promise<void>;
  /** What else the reading shows, good and bad, as it is met: what is to be said of it a check knows. */
  seen?(fact: PassFact): void;
}

export interface PassOptions {
  /** SHA-256 is always computed; these only when asked for, since each costs a pass over the bytes. */
  readonly digests?: readonly AskedDigest[];
}

/** What one whole pass showed. */
export interface ArchiveReading {
  readonly digests: Digests;
  readonly bytes: number;
  /** In file order; folders are not listed. */
  readonly entries: readonly EntryReading[];
}

/** An opened firmware archive. */
export interface Archive {
  readonly facts: ArchiveFacts;
  /** What the directory and the file's ends show before the content is read. */
  readonly directory: DirectoryFacts;
  /**
   * Reads the whole file once. Goes on past damaged entries, so that all is seen at once. Where the file is no
   * readable zip, only raw bytes are heard. Throws ToolError `file/unreadable`, `file/changed-while-read`, or the
   * signal's reason when aborted; a listener's throw passes through.
   */
  readThrough(listener: PassListener, signal: AbortSignal, options?: PassOptions): Promise<ArchiveReading>;
  close(): Promise<void>;
}

/**
 * Opens an archive for reading; never writes beside it. Throws ToolError `file/not-found`,
 * `file/not-permitted`, `file/unreadable`.
 */
export type OpenArchive = (path: string) => Promise<Archive>;
