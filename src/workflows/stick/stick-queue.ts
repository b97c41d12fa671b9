/** How far a stick may lag behind the pass over the archive before the pass waits for it. */
export const mostWaitingBytes = 4 * 2 ** 20;

/** About what a piece of work itself takes while it waits: a package of many tiny files is mostly this. */
const workBytes = 8192;

/** Work for one stick, done one after the other while the pass goes on. */
export class StickQueue {
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
