import { setImmediate as yieldToLoop } from 'node:timers/promises';
import * as FatFs from 'js-fatfs';
import { fatMaxFileBytes } from '../../../core/volume-format/fat-name.ts';
import { stickFull } from '../os-error.ts';
import type { VolumeWriter } from '../volume.ts';
import type { FatFsSession } from './fatfs-session.ts';
import type { OrderedDevice } from './ordered-device.ts';

const bufferBytes = 2 ** 18;
/** Clusters are taken in steps, so that taking those of a large file does not hold up everything else. */
const reserveStepBytes = 256 * 2 ** 20;
/** How much is written before the medium is asked to take it, so that the last flush has little left to wait for. */
const flushEveryBytes = 64 * 2 ** 20;

/**
 * A new file at FAT PATH. Its clusters are taken first, so that they follow each other and a full volume shows at once;
 * and they belong to its name from the first one on, so that they are given back with it wherever the work is cut off.
 */
export async function createFatWriter(
  session: FatFsSession,
  ordered: OrderedDevice,
  fatPath: string,
  bytes: number,
  onClose: () => void,
): Promise<VolumeWriter> {
  const subject = fatPath.slice(1);
  const { ff } = session;
  await session.device.catchUp?.(0); // what small files and names cost is then made at once
  const file = session.allocate(FatFs.sizeof_FIL);
  try {
    session.check(ff.f_open(file, fatPath, FatFs.FA_WRITE | FatFs.FA_CREATE_NEW), 'write', subject);
  } catch (error) {
    ff.free(file);
    throw error;
  }
  const writer = new FatWriter(session, ordered, file, subject, onClose);
  try {
    await writer.reserve(bytes);
  } catch (error) {
    await writer.close().catch(() => {}); // the first error is the one to tell
    throw error;
  }
  return writer;
}

class FatWriter implements VolumeWriter {
  readonly #session: FatFsSession;
  readonly #ordered: OrderedDevice;
  readonly #file: number;
  readonly #buffer: number;
  readonly #moved: number;
  readonly #subject: string;
  readonly #onClose: () => void;
  #buffered = 0;
  #sinceFlush = 0;
  #flushing: Promise<unknown> = Promise.resolve();
  #failed = false;
  #open = true;

  constructor(session: FatFsSession, ordered: OrderedDevice, file: number, subject: string, onClose: () => void) {
    this.#session = session;
    this.#ordered = ordered;
    this.#file = file;
    this.#buffer = session.allocate(bufferBytes);
    this.#moved = session.allocate(4);
    this.#subject = subject;
    this.#onClose = onClose;
  }

  async reserve(bytes: number): Promise<void> {
    const { ff, geometry, device } = this.#session;
    if (bytes > geometry.clusterBytes) {
      // The name has one cluster before more is taken, and states one byte until all of them are written.
      this.#check(this.#ordered.fromItsStart(() => ff.f_lseek(this.#file, 1) || ff.f_sync(this.#file)));
      // A pull takes writes in any order, so the name of much is brought down before it grows.
      if (bytes >= flushEveryBytes) await device.flush();
    }
    for (let end = 0; end < bytes; ) {
      const next = Math.min(bytes, end + reserveStepBytes);
      end = next;
      this.#check(this.#ordered.fromItsStart(() => ff.f_lseek(this.#file, next)));
      // A full volume is not an error to FatFs: it just does not go that far.
      if (ff.f_tell(this.#file) >>> 0 !== end) throw this.#fullError('it does not fit on the stick');
      if (end < bytes) await yieldToLoop();
    }
    this.#check(ff.f_lseek(this.#file, 0));
  }

  async write(chunk: Uint8Array): Promise<void> {
    for (let done = 0; done < chunk.length; ) {
      const part = chunk.subarray(done, done + bufferBytes - this.#buffered);
      this.#session.ff.HEAPU8.set(part, this.#buffer + this.#buffered);
      this.#buffered += part.length;
      done += part.length;
      if (this.#buffered < bufferBytes) return;
      this.#drain();
      await this.#waitForRoom();
      await this.#flushNowAndThen();
      await yieldToLoop();
    }
  }

  async close(): Promise<void> {
    if (!this.#open) return;
    this.#open = false;
    const { ff } = this.#session;
    try {
      if (!this.#failed) this.#drain();
      await this.#flushing;
    } finally {
      const isShort = ff.f_tell(this.#file) !== ff.f_size(this.#file);
      const closed = isShort ? this.#cutShort() : ff.f_close(this.#file);
      for (const pointer of [this.#file, this.#buffer, this.#moved]) ff.free(pointer);
      this.#onClose();
      if (this.#failed) this.#session.clearFault();
      else this.#check(closed);
    }
  }

  /** The shorter length first, so that what is still taken is given back with the name. */
  #cutShort(): number {
    const { ff } = this.#session;
    return this.#ordered.fromItsStart(() => {
      const truncated = ff.f_truncate(this.#file);
      return ff.f_close(this.#file) || truncated;
    });
  }

  #drain(): void {
    const bytes = this.#buffered;
    this.#buffered = 0;
    if (bytes === 0) return;
    const { ff } = this.#session;
    if ((ff.f_tell(this.#file) >>> 0) + bytes > fatMaxFileBytes) {
      throw this.#fullError(`a FAT volume holds no file over ${fatMaxFileBytes} bytes`);
    }
    this.#check(
      this.#session.bulk(this.#buffer, bytes, () => ff.f_write(this.#file, this.#buffer, bytes, this.#moved)),
    );
    if (ff.getValue(this.#moved, 'i32') !== bytes) throw this.#fullError('the stick is full');
    this.#sinceFlush += bytes;
  }

  async #waitForRoom(): Promise<void> {
    try {
      await this.#session.device.catchUp?.(bufferBytes);
    } catch (error) {
      this.#failed = true;
      this.#session.fail(error);
      throw error;
    }
  }

  async #flushNowAndThen(): Promise<void> {
    if (this.#sinceFlush < flushEveryBytes) return;
    this.#sinceFlush = 0;
    await this.#flushing;
    this.#flushing = this.#session.device.flush();
    this.#flushing.catch(() => {}); // whoever waits for it next is told
  }

  #check(result: number): void {
    try {
      this.#session.check(result, 'write', this.#subject);
      this.#session.checkWritable();
    } catch (error) {
      this.#failed = true;
      throw error;
    }
  }

  #fullError(message: string): Error {
    this.#failed = true;
    return stickFull(this.#subject, message);
  }
}
