import { type FileHandle, lstat, open, unlink } from 'node:fs/promises';
import type { VolumeWriter } from '../volume.ts';

/**
 * write(2) takes at least one byte of a regular file or says why; what a driver means that does neither shows in the
 * room left.
 */
const tookNothing = (): Error => Object.assign(new Error('a write took nothing'), { code: 'EIO' });

const blockBytes = 2 ** 20;
/** How much is written before the medium is asked to take it, so that the last flush has little left to wait for. */
const syncEveryBytes = 64 * 2 ** 20;

/**
 * A new file at PATH. Where the stick is gone by then, the file may have landed in the computer's own folder below: it
 * is taken away again, by its own number, and the answer is undefined.
 */
export async function openNew(path: string, isThere: () => boolean): Promise<FileHandle | undefined> {
  const handle = await open(path, 'wx');
  if (isThere()) return handle;
  const [mine, named] = [await handle.stat(), await lstat(path).catch(() => undefined)];
  await handle.close();
  if (named !== undefined && named.dev === mine.dev && named.ino === mine.ino) await unlink(path);
  return undefined;
}

/**
 * Writes behind: while one block is on its way the next is filled. EXPLAIN turns what the system said into a ToolError;
 * `bytes` only sizes the blocks.
 */
export class FolderWriter implements VolumeWriter {
  readonly #handle: FileHandle;
  readonly #explain: (error: unknown) => Promise<Error>;
  readonly #blockBytes: number;
  readonly #spare: Buffer[] = [];
  #block: Buffer;
  #filled = 0;
  #inFlight: Promise<void> = Promise.resolve();
  #syncing: Promise<void> = Promise.resolve();
  #sinceSync = 0;
  #sentBytes = 0;
  #failure: { readonly error: unknown } | undefined;
  #told = false;
  #open = true;

  constructor(handle: FileHandle, bytes: number, explain: (error: unknown) => Promise<Error>) {
    this.#handle = handle;
    this.#explain = explain;
    this.#blockBytes = Math.min(blockBytes, Math.max(bytes, 4096));
    this.#block = Buffer.allocUnsafeSlow(this.#blockBytes);
  }

  async write(chunk: Uint8Array): Promise<void> {
    for (let done = 0; done < chunk.length; ) {
      const part = chunk.subarray(done, done + this.#blockBytes - this.#filled);
      this.#block.set(part, this.#filled);
      this.#filled += part.length;
      done += part.length;
      if (this.#filled === this.#blockBytes) await this.#send();
    }
    await this.#throwFailure();
  }

  async close(): Promise<void> {
    if (!this.#open) return;
    this.#open = false;
    const toldBefore = this.#told; // a block on its way may have failed since the last word
    try {
      if (this.#failure === undefined) await this.#send();
      await this.#inFlight;
      await this.#syncing;
      if (this.#failure === undefined) await this.#checkLength();
    } finally {
      await this.#handle.close().catch((error: unknown) => this.#fail(error));
    }
    if (!toldBefore) await this.#throwFailure();
  }

  /** Hands the filled block on, after the one before it has arrived. */
  async #send(): Promise<void> {
    await this.#inFlight;
    await this.#throwFailure();
    if (this.#filled === 0) return;
    const block = this.#block;
    const bytes = block.subarray(0, this.#filled);
    this.#filled = 0;
    this.#block = this.#spare.pop() ?? Buffer.allocUnsafeSlow(this.#blockBytes);
    this.#inFlight = this.#writeAll(bytes).then(
      () => void this.#spare.push(block),
      (error: unknown) => this.#fail(error),
    );
    this.#sinceSync += bytes.length;
    this.#sentBytes += bytes.length;
    if (this.#sinceSync >= syncEveryBytes) await this.#startSync();
  }

  async #writeAll(bytes: Buffer): Promise<void> {
    for (let done = 0; done < bytes.length; ) {
      const { bytesWritten } = await this.#handle.write(bytes, done, bytes.length - done);
      if (bytesWritten === 0) throw tookNothing();
      done += bytesWritten;
    }
  }

  async #startSync(): Promise<void> {
    this.#sinceSync = 0;
    await this.#syncing;
    this.#syncing = this.#handle.datasync().catch((error: unknown) => this.#fail(error));
  }

  /** A driver that keeps what it was given may have dropped it without a word. */
  async #checkLength(): Promise<void> {
    const length = await this.#handle.stat().then(
      ({ size }) => size,
      (error: unknown) => this.#fail(error),
    );
    if (length !== undefined && length < this.#sentBytes) this.#fail(tookNothing());
  }

  #fail(error: unknown): void {
    this.#failure ??= { error };
  }

  async #throwFailure(): Promise<void> {
    if (this.#failure === undefined) return;
    this.#told = true;
    throw await this.#explain(this.#failure.error);
  }
}
