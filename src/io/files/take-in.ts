import { open, statfs } from 'node:fs/promises';
import { ToolError } from '../../core/model/tool-error.ts';
import { writeAll } from './copy-file.ts';

/** The bytes of a file as they come. */
export interface Delivery {
  readonly chunks: AsyncIterable<Uint8Array>;
  /** How many there must be. */
  readonly bytes: number;
  readonly heard: (bytes: number) => void;
  readonly signal: AbortSignal;
}

/** A file that was handed over whole, for nobody but this desk to see. */
export interface Received {
  readonly path: string;
  /** Leaves nothing behind. */
  discard(): Promise<void>;
}

/**
 * Writes what is handed over to a new file at PATH, for this account alone.
 * Throws `file/unreadable` where it is not whole.
 */
export async function takeIn(path: string, { chunks, bytes, heard, signal }: Delivery): Promise<void> {
  const file = await open(path, 'wx', 0o600);
  try {
    let done = 0;
    for await (const chunk of chunks) {
      signal.throwIfAborted();
      if (done + chunk.byteLength > bytes) throw notWhole(path, bytes, 'more');
      await writeAll(file, chunk, done);
      done += chunk.byteLength;
      heard(done);
    }
    signal.throwIfAborted();
    if (done < bytes) throw notWhole(path, bytes, 'less');
  } finally {
    await file.close();
  }
}

const notWhole = (path: string, bytes: number, came: 'more' | 'less'): ToolError =>
  new ToolError(
    'file/unreadable',
    path,
    `${came === 'more' ? 'More' : 'Fewer'} bytes came than the ${bytes.toLocaleString('en-US')} that it was said to have.`,
    'Nothing of it was kept. The file may have changed meanwhile, or it was cut off: hand it over once more.',
  );

/**
 * What is free at PLACE, where that is less than BYTES. Some network folders do not tell (0 blocks): there the writing
 * itself says when it is full.
 */
export async function freeWhereTooLittle(place: string, bytes: number): Promise<number | undefined> {
  const { bavail, bsize, blocks } = await statfs(place);
  const free = bavail * bsize;
  return blocks === 0 || bytes <= free ? undefined : free;
}
