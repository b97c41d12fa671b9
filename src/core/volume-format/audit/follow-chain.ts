import { BitSet, chainEnds } from '../fat-table.ts';

/** The next cluster of a chain, or one of `chainEnds`. */
interface Steps {
  step(cluster: number): number;
}

export interface Chain {
  readonly start: number;
  /** Clusters that were marked for it. */
  readonly length: number;
  readonly end: 'end' | 'free' | 'bad' | 'invalid' | 'loop' | 'crossed';
  /** The cluster that it came to, where it met another chain. */
  readonly crossedAt?: number;
}

export const endsInWords: Record<Exclude<Chain['end'], 'end'>, string> = {
  free: 'it runs into a free cluster',
  bad: 'it runs into a cluster that is marked bad',
  invalid: 'it points outside the volume',
  loop: 'it runs in a circle',
  crossed: 'it runs into another file',
};

/** Follows chains and remembers every cluster that one of them took, so that each cluster is visited once. */
export class ChainFollower {
  readonly reached: BitSet;
  readonly #table: Steps;

  constructor(table: Steps, clusters: number) {
    this.#table = table;
    this.reached = new BitSet(clusters + 2);
  }

  /** Marks the chain from START, up to where it ends, breaks, or meets one that was marked before. */
  follow(start: number): Chain {
    let cluster = start;
    for (let length = 0; ; ) {
      if (this.reached.has(cluster))
        return this.#holds(start, length, cluster)
          ? { start, length, end: 'loop' }
          : { start, length, end: 'crossed', crossedAt: cluster };
      const step = this.#table.step(cluster);
      if (step === chainEnds.free) return { start, length, end: 'free' };
      if (step === chainEnds.bad) return { start, length, end: 'bad' };
      this.reached.add(cluster);
      length++;
      if (step < 0) return { start, length, end: step === chainEnds.end ? 'end' : 'invalid' };
      cluster = step;
    }
  }

  /** As `follow`, of COUNT clusters from START on, which lie in the volume and of which no table tells. */
  mark(start: number, count: number): Chain {
    for (let length = 0; length < count; length++) {
      const cluster = start + length;
      if (this.reached.add(cluster)) return { start, length, end: 'crossed', crossedAt: cluster };
    }
    return { start, length: count, end: 'end' };
  }

  #holds(start: number, length: number, wanted: number): boolean {
    let cluster = start;
    for (let index = 0; index < length && cluster > 0; index++) {
      if (cluster === wanted) return true;
      cluster = this.#table.step(cluster);
    }
    return false;
  }
}
