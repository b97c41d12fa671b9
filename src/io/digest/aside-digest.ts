import { availableParallelism } from 'node:os';
import { Worker } from 'node:worker_threads';
import type { Digesting, PlaceDigest } from './digest.ts';

type DigestAt = NonNullable<Digesting['digestAt']>;

interface Waiting {
  readonly heard: (bytes: number) => void;
  readonly resolve: (digest: PlaceDigest) => void;
  readonly reject: (error: unknown) => void;
}

interface Answer {
  readonly id: number;
  readonly heard?: number;
  readonly result?: PlaceDigest;
  readonly error?: { readonly code?: string; readonly syscall?: string; readonly text: string };
}

/** More threads would wait for the same memory and the same stick. */
const mostThreads = 4;

/** One thread and what was asked of it. It does not keep the process alive. */
class Thread {
  readonly waiting = new Map<number, Waiting>();
  readonly #worker: Worker;

  constructor(ended: () => void) {
    // Its memory is what it reads into; V8 needs little beside it.
    const resourceLimits = { maxYoungGenerationSizeMb: 2, maxOldGenerationSizeMb: 16 };
    this.#worker = new Worker(new URL('./digest-worker.js', import.meta.url), { resourceLimits });
    this.#worker.unref();
    this.#worker.on('message', (answer: Answer) => this.#hear(answer));
    this.#worker.on('error', (error) => {
      ended();
      for (const { reject } of this.waiting.values()) reject(error);
      this.waiting.clear();
    });
  }

  ask(id: number, order: object, waiting: Waiting): void {
    this.waiting.set(id, waiting);
    this.#worker.ref();
    this.#worker.postMessage({ id, ...order });
  }

  stop(id: number): void {
    this.#worker.postMessage({ stop: id });
  }

  #hear({ id, heard, result, error }: Answer): void {
    const waiting = this.waiting.get(id);
    if (heard !== undefined && heard > 0) waiting?.heard(heard);
    if (result === undefined && error === undefined) return;
    this.waiting.delete(id);
    if (this.waiting.size === 0) this.#worker.unref();
    if (result !== undefined) waiting?.resolve(result);
    else waiting?.reject(Object.assign(new Error(error?.text), error?.code === undefined ? {} : { code: error.code }));
  }
}

/** Threads are started when there is work for them, and one more only when all others are at work. */
export function startAsideDigesting(): DigestAt {
  const threads = new Set<Thread>();
  const most = Math.min(availableParallelism(), mostThreads);
  let lastId = 0;
  const threadForWork = (): Thread => {
    const idlest = [...threads].sort((a, b) => a.waiting.size - b.waiting.size)[0];
    if (idlest !== undefined && (idlest.waiting.size === 0 || threads.size >= most)) return idlest;
    const thread: Thread = new Thread(() => threads.delete(thread));
    threads.add(thread);
    return thread;
  };
  return async ({ path, flags, spans, explain }, { crc, signal, heard }) => {
    signal?.throwIfAborted();
    const id = ++lastId;
    const thread = threadForWork();
    const stop = (): void => thread.stop(id);
    signal?.addEventListener('abort', stop);
    try {
      return await new Promise<PlaceDigest>((resolve, reject) => {
        thread.ask(id, { path, flags, spans, crc }, { heard, resolve, reject });
      });
    } catch (error) {
      throw await explain(error);
    } finally {
      signal?.removeEventListener('abort', stop);
      signal?.throwIfAborted();
    }
  };
}
