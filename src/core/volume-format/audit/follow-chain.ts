import { BitSet, chainEnds } from '../fat-table.ts';
import { mostPaths, type SharedPlace, shortened } from './flaw.ts';

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

/** What a name leads to. */
export interface Held {
  readonly path: string;
  readonly start: number;
  readonly bytes: number;
}

/** Who came first to each of some clusters; undefined until somebody did. */
export type FirstHolders = Map<number, Held | undefined>;

/** Places to which two names lead. Who came second is met there; who came first, by going the same way once more. */
export class SharedPlaces {
  readonly #met: { readonly at: number; readonly second: Held }[] = [];

  add(at: number, second: Held): void {
    if (this.#met.length < mostPaths) this.#met.push({ at, second });
  }

  pairs(walkAgain: (firsts: FirstHolders) => void): readonly SharedPlace[] {
    if (this.#met.length === 0) return [];
    const firsts: FirstHolders = new Map(this.#met.map(({ at }) => [at, undefined]));
    walkAgain(firsts);
    return this.#met.map(({ at, second }) => {
      const first = firsts.get(at);
      const alike = first !== undefined && first.start === second.start && first.bytes === second.bytes;
      return { first: shortened(first?.path || '/'), second: shortened(second.path), alike };
    });
  }
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
  readonly #firsts: FirstHolders | undefined;

  constructor(table: Steps, clusters: number, firsts?: FirstHolders) {
    this.#table = table;
    this.#firsts = firsts;
    this.reached = new BitSet(clusters + 2);
  }

  /** Marks the chain from START, up to where it ends, breaks, or meets one that was marked before. */
  follow(start: number, held?: Held): Chain {
    let cluster = start;
    for (let length = 0; ; ) {
      if (this.reached.has(cluster))
        return this.#holds(start, length, cluster)
          ? { start, length, end: 'loop' }
          : { start, length, end: 'crossed', crossedAt: cluster };
      const step = this.#table.step(cluster);
      if (step === chainEnds.free) return { start, length, end: 'free' };
      if (step === chainEnds.bad) return { start, length, end: 'bad' };
      this.#take(cluster, held);
      length++;
      if (step < 0) return { start, length, end: step === chainEnds.end ? 'end' : 'invalid' };
      cluster = step;
    }
  }

  /** As `follow`, of COUNT clusters from START on, which lie in the volume and of which no table tells. */
  mark(start: number, count: number, held: Held): Chain {
    for (let length = 0; length < count; length++) {
      const cluster = start + length;
      if (this.#take(cluster, held)) return { start, length, end: 'crossed', crossedAt: cluster };
    }
    return { start, length: count, end: 'end' };
  }

  /** Whether somebody has it already. */
  #take(cluster: number, held: Held | undefined): boolean {
    const isTaken = this.reached.add(cluster);
    if (!isTaken && this.#firsts?.has(cluster) === true) this.#firsts.set(cluster, held);
    return isTaken;
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
