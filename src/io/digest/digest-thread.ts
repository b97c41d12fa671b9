import { setFlagsFromString } from 'node:v8';
import { Worker } from 'node:worker_threads';
import type { FilePlace, PlaceDigest } from './digest.ts';
import { carryOut, stop } from './digest-places.js';

export interface ThreadOrder {
  readonly places: readonly Pick<FilePlace, 'path' | 'flags' | 'spans'>[];
  readonly crc: boolean;
  /** How much there is to do. */
  readonly bytes: number;
}

export type ThreadOutcome =
  | { readonly digest: PlaceDigest }
  | { readonly failure: { readonly code?: string; readonly message: string } };

interface Answer {
  readonly id: number;
  readonly heard: number;
  /** Undefined while it goes on. */
  readonly outcomes?: readonly ThreadOutcome[];
}

interface Waiting {
  readonly bytes: number;
  readonly heard: (bytes: number) => void;
  readonly resolve: (outcomes: readonly ThreadOutcome[]) => void;
  readonly reject: (error: unknown) => void;
}

/** A thread for digests: this one, or another one that runs digest-worker.js. */
interface Lane {
  order(order: Omit<ThreadOrder, 'bytes'> & { readonly id: number }): void;
  stop(id: number): void;
  /** Resolves when it runs, or has ended. */
  readonly running: Promise<void>;
  /** Whether the process is to be kept alive for it. */
  atWork(isWorking: boolean): void;
}

/** One thread and what was asked of it. */
export class DigestThread {
  readonly #waiting = new Map<number, Waiting>();
  readonly #lane: Lane;

  /** `ended` hears that another thread died; whoever waits for it is told why. */
  constructor(where: 'here' | 'aside', ended: () => void) {
    const hear = (answer: Answer): void => this.#hear(answer);
    const fail = (error: unknown): void => {
      ended();
      for (const { reject } of this.#waiting.values()) reject(error);
      this.#waiting.clear();
    };
    this.#lane = where === 'here' ? hereLane(hear, fail) : asideLane(hear, fail);
  }

  /** Resolves when it runs, or has ended; keeps the process alive until then. */
  async whenReady(): Promise<void> {
    this.#lane.atWork(true);
    await this.#lane.running;
    if (this.#waiting.size === 0) this.#lane.atWork(false);
  }

  get busyBytes(): number {
    return [...this.#waiting.values()].reduce((sum, { bytes }) => sum + bytes, 0);
  }

  /** Answers in the order of the places; those that an interruption left out have no answer. */
  async carryOut(
    { bytes, ...order }: ThreadOrder,
    { signal, heard }: { readonly signal: AbortSignal | undefined; readonly heard: (bytes: number) => void },
  ): Promise<readonly ThreadOutcome[]> {
    const id = ++lastId;
    const stop = (): void => this.#lane.stop(id);
    signal?.addEventListener('abort', stop);
    try {
      return await new Promise((resolve, reject) => {
        this.#waiting.set(id, { bytes, heard, resolve, reject });
        this.#lane.atWork(true);
        this.#lane.order({ id, ...order });
      });
    } finally {
      signal?.removeEventListener('abort', stop);
      if (this.#waiting.size === 0) this.#lane.atWork(false);
    }
  }

  #hear({ id, heard, outcomes }: Answer): void {
    const waiting = this.#waiting.get(id);
    if (heard > 0) waiting?.heard(heard);
    if (outcomes === undefined) return;
    this.#waiting.delete(id);
    waiting?.resolve(outcomes);
  }
}

let lastId = 0;

const hereLane = (hear: (answer: Answer) => void, fail: (error: unknown) => void): Lane => ({
  order: (order) => void carryOut(order, hear).catch(fail),
  stop,
  running: Promise.resolve(),
  atWork: () => {},
});

function asideLane(hear: (answer: Answer) => void, fail: (error: unknown) => void): Lane {
  // Its memory is what it reads into; V8 needs little beside it.
  const resourceLimits = { maxYoungGenerationSizeMb: 2, maxOldGenerationSizeMb: 16 };
  const worker = new Worker(new URL('./digest-worker.js', import.meta.url), { resourceLimits });
  const running = new Promise<void>((resolve) => {
    worker.on('online', () => {
      // V8 raises what cli/keep-heap-small.ts sets whenever a thread makes a heap, for all heaps.
      setFlagsFromString('--semi-space-growth-factor=1');
      resolve();
    });
    worker.on('exit', () => resolve());
  });
  worker.on('message', hear);
  worker.on('error', fail);
  worker.unref(); // at last: to listen is to keep the process alive
  return {
    order: (order) => worker.postMessage(order),
    running,
    stop: (id) => worker.postMessage({ stop: id }),
    atWork: (isWorking) => (isWorking ? worker.ref() : worker.unref()),
  };
}
