import type { PassListener } from '../../io/archive/archive.ts';
import { joinListeners } from '../examine-archive.ts';
import { StickQueue } from './stick-queue.ts';

export interface FanOut {
  readonly listener: PassListener;
  /** Returns when every stick has heard all; throws what a listener threw. */
  drained(): Promise<void>;
}

/**
 * Lets several sticks hear one pass, each at its own pace: a slow one holds the others up only when it is a bounded number of
 * bytes behind. A chunk is copied once, for all of them. One stick alone hears the pass directly.
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
