import type { PassListener } from '../../io/archive/archive.ts';
import { joinListeners } from '../examine-archive.ts';

/** How far a stick may lag behind the pass over the archive before the pass waits for it. */
export const mostWaitingBytes = 4 * 2 ** 20;

/** About what a piece of work itself takes while it waits: a package of many tiny files is mostly this. */
const workBytes = 8192;

/** Work for one stick, done one after the other while the pass goes on. */
class StickQueue {
  #last: Promise<void> = Promise.resolve();
  #waitingBytes = 0;
  #failure: { readonly error: unknown } | undefined;
  #whenRoom: (() => void) | undefined;

  /** Returns a promise where the caller must wait until there is room again. */
  add(bytes: number, work: () => void | Promise<void>): Promise<void> | undefined {
    this.#waitingBytes += bytes + workBytes;
    this.#last = this.#last.then(async () => {
      try {
        if (this.#failure === undefined) await work();
      } catch (error) {
        this.#failure = { error };
      }
      this.#waitingBytes -= bytes + workBytes;
      if (this.#waitingBytes < mostWaitingBytes) this.#whenRoom?.();
    });
    if (this.#waitingBytes < mostWaitingBytes) return undefined;
    return new Promise((resolve) => {
      this.#whenRoom = resolve;
    });
  }

  /** Returns when all is done; throws what the work threw. */
  async drained(): Promise<void> {
    await this.#last;
    if (this.#failure !== undefined) throw this.#failure.error;
  }
}

interface FanOut {
  readonly listener: PassListener;
  /** Returns when every stick has heard all; throws what a listener threw. */
  drained(): Promise<void>;
}

/**
 * Lets several sticks hear one pass, each at its own pace: a slow one holds the others up only when it is a bounded
 * number of bytes behind. A chunk is copied once, for all of them. One stick alone hears the pass directly.
 */
export function fanOut(listeners: readonly PassListener[]): FanOut {
  if (listeners.length < 2) return { listener: joinListeners(listeners), drained: async () => {} };
  const lanes = listeners.map((listener) => ({ listener, queue: new StickQueue() }));
  const all = (bytes: number, hear: (listener: PassListener) => void | Promise<void>): void | Promise<void> => {
    const full = lanes.flatMap(({ listener, queue }) => queue.add(bytes, () => hear(listener)) ?? []);
    return full.length === 0 ? undefined : Promise.all(full).then(() => {});
  };
  const share = (chunk: Uint8Array, hear: (listener: PassListener, bytes: Uint8Array) => void | Promise<void>) => {
    const copy = chunk.slice();
    return all(chunk.byteLength, (listener) => hear(listener, copy));
  };
  return {
    listener: {
      ...(listeners.some(({ raw }) => raw !== undefined) && {
        raw: (chunk) => share(chunk, (listener, bytes) => listener.raw?.(bytes)),
      }),
      ...(listeners.some(({ entryData }) => entryData !== undefined) && {
        entryStart: (entry) => all(0, (listener) => listener.entryStart?.(entry)),
        entryData: (entry, chunk) => share(chunk, (listener, bytes) => listener.entryData?.(entry, bytes)),
        entryEnd: (entry, reading, sound) => all(0, (listener) => listener.entryEnd?.(entry, reading, sound)),
      }),
    },
    drained: async () => {
      await Promise.all(lanes.map(({ queue }) => queue.drained()));
    },
  };
}
