import type { Sha256 } from '../../core/documents/own-digest.ts';

/** A running SHA-256 and CRC-32 over the same bytes. */
export interface FileDigest {
  update(chunk: Uint8Array): void;
  /** Ends the digest; call once. SHA-256 in lower hex, CRC-32 unsigned. */
  end(): { readonly sha256: string; readonly crc32: number };
}

/** The `code` of an error about a span that lies beyond the end of what was opened, and about what is no file. */
export const placeProblems = { mediumEnds: 'ERR_MEDIUM_ENDS', notAFile: 'ERR_NOT_A_FILE' } as const;

/** Where a file's bytes lie, for somebody who reads them without the volume. */
export interface FilePlace {
  /** A file or device of the operating system. */
  readonly path: string;
  /** With which flags it is to be opened; see open(2). */
  readonly flags: number;
  /** In their order; undefined where it is all of the file. */
  readonly spans: readonly { readonly at: number; readonly bytes: number }[] | undefined;
  /** What an error of the operating system, or one with a code of `placeProblems`, means here. */
  readonly explain: (error: unknown) => Promise<Error>;
}

export interface PlaceDigest {
  readonly sha256: string;
  readonly crc32: number;
  readonly bytes: number;
}

export interface PlacesToDigest {
  /** BYTES is about how many there are: the largest files come first. */
  readonly places: readonly { readonly place: FilePlace; readonly bytes: number }[];
  readonly crc: boolean;
  readonly signal: AbortSignal | undefined;
  readonly heard: (bytes: number) => void;
}

export interface Digesting {
  /** `crc` false leaves the CRC-32 at 0 and saves its time. */
  start(crc: boolean): FileDigest;
  readonly sha256: Sha256;
  /**
   * Reads and hashes files in other threads; absent where there are none. Answers in the order of the places, with what
   * `explain` makes of an error where a file could not be read. Throws the signal's reason.
   */
  readonly digestPlaces?: (
    work: PlacesToDigest,
  ) => Promise<readonly ({ readonly digest: PlaceDigest } | { readonly error: unknown })[]>;
  /** Starts the other threads now, for somebody who will soon have files to read: they start while a stick is looked at. */
  readonly getReady?: () => void;
  /** The same; resolves when they run, or have failed to, which is told to whoever gives them work. */
  readonly whenReady?: () => Promise<void>;
}
