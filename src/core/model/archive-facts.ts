import type { InnerGlance } from './stick-facts.ts';

/** One entry of an archive as its directory states it; nothing of it is proven until the archive has been read. */
export interface ArchiveEntry {
  /** Path inside the archive, `/` between parts, decoded; a folder's name ends with `/`. */
  readonly name: string;
  readonly folder: boolean;
  /** Uncompressed size. */
  readonly bytes: number;
  readonly compressedBytes: number;
  /** 0 stored, 8 deflate; any other number is a finding (PKWARE APPNOTE 4.4.5). */
  readonly method: number;
  /** CRC-32 of the uncompressed bytes, unsigned. */
  readonly crc32: number;
  /** Where the local header starts, in bytes from the start of the file. */
  readonly headerOffset: number;
}

/** What is known of an archive after its directory was read, before its content was. */
export interface ArchiveFacts {
  /** As the person gave it. */
  readonly path: string;
  /** The last part of the path. */
  readonly fileName: string;
  readonly bytes: number;
  /** Entries in the order of their bytes in the file; empty where the file is not a readable zip. */
  readonly entries: readonly ArchiveEntry[];
  /** What archives and images a look into the largest entries found; undefined where nobody looked. */
  readonly inner?: readonly InnerGlance[];
  /** SHA-256 in lower hex over the directory and the end records: equal for the same archive, cheap to know. */
  readonly directorySha256: string;
}

/** Digests of a whole file, in lower hex; `undefined` where nobody asked for it. */
export interface Digests {
  readonly sha256: string;
  readonly sha512: string | undefined;
  readonly sha384?: string | undefined;
  readonly sha224?: string | undefined;
  readonly sha1: string | undefined;
  readonly md5: string | undefined;
  readonly crc32?: string | undefined;
}

/** Those that are computed only where something is to be compared with them. */
export type AskedDigest = Exclude<keyof Digests, 'sha256'>;

/** What one entry turned out to be when it was read. */
export interface EntryReading {
  readonly name: string;
  readonly bytes: number;
  readonly crc32: number;
  readonly sha256: string;
}
