/** One bit a cluster: an eighth of a byte each, so that the largest FAT32 volume takes 32 MiB a set. */
export class BitSet {
  readonly #words: Uint32Array;

  constructor(bits: number) {
    this.#words = new Uint32Array(Math.ceil(bits / 32));
  }

  has(bit: number): boolean {
    return (((this.#words[bit >>> 5] ?? 0) >>> (bit & 31)) & 1) === 1;
  }

  /** Whether the bit was set before. */
  add(bit: number): boolean {
    const word = this.#words[bit >>> 5] ?? 0;
    const mask = 1 << (bit & 31);
    this.#words[bit >>> 5] = word | mask;
    return (word & mask) !== 0;
  }

  /** How many bits are set here and in none of OTHERS, which have the same length. */
  countWithout(...others: readonly BitSet[]): number {
    let count = 0;
    for (let index = 0; index < this.#words.length; index++) {
      let word = this.#words[index] ?? 0;
      for (const other of others) word &= ~(other.#words[index] ?? 0);
      for (; word !== 0; word &= word - 1) count++;
    }
    return count;
  }
}
