import type { Digesting } from '../../io/digest/digest.ts';
import type { ReadBackKind, Volume } from '../../io/volume/volume.ts';

export interface FileContent {
  readonly sha256: string;
  readonly crc32: number;
  readonly bytes: number;
  readonly readBack: ReadBackKind;
}

export interface Digestion {
  readonly digesting: Digesting;
  /** Throws its reason when aborted. */
  readonly signal?: AbortSignal;
  /** Whether the CRC-32 is wanted as well; otherwise it is 0. */
  readonly crc?: boolean;
  readonly heard?: (bytes: number) => void;
}

/** Reads a file from the stick, around the cache where that is possible. */
export async function digestFile(volume: Volume, path: string, how: Digestion): Promise<FileContent> {
  const reader = await volume.open(path, 'fresh');
  const digest = how.digesting.start(how.crc === true);
  let bytes = 0;
  for await (const chunk of reader.chunks()) {
    how.signal?.throwIfAborted();
    digest.update(chunk);
    bytes += chunk.byteLength;
    how.heard?.(chunk.byteLength);
  }
  return { ...digest.end(), bytes, readBack: reader.readBack };
}
