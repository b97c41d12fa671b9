/** A running SHA-256 and CRC-32 over the same bytes. */
export interface FileDigest {
  update(chunk: Uint8Array): void;
  /** Ends the digest; call once. SHA-256 in lower hex, CRC-32 unsigned. */
  end(): { readonly sha256: string; readonly crc32: number };
}

/** The `code` of an error about a span that lies beyond the end of what was opened. */
export const mediumEndsCode = 'ERR_MEDIUM_ENDS';

/** Where a file's bytes lie, for somebody who reads them without the volume. */
export interface FilePlace {
  /** A file or device of the operating system. */
  readonly path: string;
  /** With which flags it is to be opened; see open(2). */
  readonly flags: number;
  /** In their order; undefined where it is all of the file. */
  readonly spans: readonly { readonly at: number; readonly bytes: number }[] | undefined;
  /** What an error of the operating system, or one with `mediumEndsCode`, means here. */
  readonly explain: (error: unknown) => Promise<Error>;
}

export interface PlaceDigest {
  readonly sha256: string;
  readonly crc32: number;
  readonly bytes: number;
}

export interface Digesting {
  /** `crc` false leaves the CRC-32 at 0 and saves its time. */
  start(crc: boolean): FileDigest;
  /** SHA-256 of a text's UTF-8 bytes, in lower hex. */
  sha256(text: string): string;
  /**
   * Reads and hashes a file in another thread, several at once; absent where there is none. Throws what `explain` makes of
   * an error, or the signal's reason.
   */
  readonly digestAt?: (
    place: FilePlace,
    how: { readonly crc: boolean; readonly signal: AbortSignal | undefined; readonly heard: (bytes: number) => void },
  ) => Promise<PlaceDigest>;
}
