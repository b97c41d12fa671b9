import { createHash } from 'node:crypto';
import type { FileHandle } from 'node:fs/promises';
import { openRegularFile } from './regular-file.ts';

const chunkBytes = 2 ** 20;

export interface ContentDigest {
  readonly sha256: string;
  readonly bytes: number;
}

/** Reads a file from its first byte to its last; the chunk is only valid until the call returns. */
export async function readWhole(
  path: string,
  hear: (chunk: Uint8Array) => void | Promise<void>,
  signal?: AbortSignal,
): Promise<ContentDigest> {
  const file = await openRegularFile(path);
  try {
    const hash = createHash('sha256');
    const buffer = new Uint8Array(chunkBytes);
    let bytes = 0;
    for (;;) {
      signal?.throwIfAborted();
      const { bytesRead } = await file.read(buffer, 0, chunkBytes, bytes);
      if (bytesRead === 0) return { sha256: hash.digest('hex'), bytes };
      const chunk = buffer.subarray(0, bytesRead);
      hash.update(chunk);
      await hear(chunk);
      bytes += bytesRead;
    }
  } finally {
    await file.close();
  }
}

/** Writes all of a chunk at a place: a single write may take less than it was given. */
export async function writeAll(file: FileHandle, chunk: Uint8Array, position: number): Promise<void> {
  for (let done = 0; done < chunk.byteLength; ) {
    const { bytesWritten } = await file.write(chunk, done, chunk.byteLength - done, position + done);
    done += bytesWritten;
  }
}
