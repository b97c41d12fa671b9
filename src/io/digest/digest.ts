import type { Sha256 } from '../../core/documents/own-digest.ts';

/** A running SHA-256 and CRC-32 over the same bytes. */
interface FileDigest {
  update(chunk: Uint8Array): void;
  /** Ends the digest; call once. SHA-256 in lower hex, CRC-32 unsigned. */
  end(): { readonly sha256: string; readonly crc32: number };
}

export interface Digesting {
  /** `crc` false leaves the CRC-32 at 0 and saves its time. */
  start(crc: boolean): FileDigest;
  readonly sha256: Sha256;
}
