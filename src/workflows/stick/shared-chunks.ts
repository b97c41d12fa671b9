/** A copy of a chunk that several sticks write. */
export interface SharedChunk {
  readonly bytes: Uint8Array;
  /** To be called once by each holder. */
  release(): void;
}

interface Block {
  readonly memory: Uint8Array;
  used: number;
  /** Releases that are still to come. */
  held: number;
}

const blockBytes = 2 ** 20;

/**
 * Copies chunks, one behind the other, into blocks of memory that are used again when all that was in them is released:
 * memory made anew for each chunk would pile up before the garbage collector comes.
 */
export class SharedChunks {
  readonly #idle: Block[] = [];
  #current: Block | undefined;

  copy(chunk: Uint8Array, holders: number): SharedChunk {
    if (chunk.byteLength > blockBytes) return { bytes: chunk.slice(), release: () => {} };
    const block = this.#roomFor(chunk.byteLength);
    const bytes = block.memory.subarray(block.used, block.used + chunk.byteLength);
    bytes.set(chunk);
    block.used += chunk.byteLength;
    block.held += holders;
    return { bytes, release: () => this.#release(block) };
  }

  #roomFor(bytes: number): Block {
    const last = this.#current;
    if (last !== undefined && last.used + bytes <= blockBytes) return last;
    const next = this.#idle.pop() ?? newBlock();
    this.#current = next;
    if (last?.held === 0) this.#giveBack(last);
    return next;
  }

  /** Lets go of the memory, when all that was copied is released. */
  end(): void {
    this.#idle.length = 0;
    this.#current = undefined;
  }

  #release(block: Block): void {
    block.held--;
    if (block.held === 0 && block !== this.#current) this.#giveBack(block);
  }

  #giveBack(block: Block): void {
    block.used = 0;
    this.#idle.push(block);
  }
}

const newBlock = (): Block => ({ memory: new Uint8Array(blockBytes), used: 0, held: 0 });
