/** Small pieces of work, a bounded number of them at once: each waits longer for the system than it computes. */
export class SideBySide {
  readonly #width: number;
  readonly #running = new Set<Promise<void>>();
  #failure: { readonly error: unknown } | undefined;

  constructor(width: number) {
    this.#width = width;
  }

  /** Returns when there was room for WORK and it has begun. Throws what an earlier piece threw. */
  async add(work: () => Promise<void>): Promise<void> {
    while (this.#running.size >= this.#width) await Promise.race(this.#running);
    this.#throwFailure();
    const running = work()
      .catch((error: unknown) => {
        this.#failure ??= { error };
      })
      .finally(() => this.#running.delete(running));
    this.#running.add(running);
  }

  /** Returns when all is done; throws what a piece threw. */
  async done(): Promise<void> {
    await Promise.all(this.#running);
    this.#throwFailure();
  }

  #throwFailure(): void {
    if (this.#failure !== undefined) throw this.#failure.error;
  }
}
