import type { FatGeometry } from './fat-geometry.ts';
import type { SectorReader } from './sector-reader.ts';

/** What an entry of the allocation table says; `next` is a cluster of the volume. */
type FatLink =
  | { readonly kind: 'next'; readonly cluster: number }
  | { readonly kind: 'free' | 'end' | 'bad' | 'invalid' };

/**
 * As `FatLink`, in a number: the next cluster, or one of these. A chain of millions of steps makes no objects this way.
 */
type FatStep = number;

export const chainEnds = { free: -1, end: -2, bad: -3, invalid: -4 } as const;

const links: Readonly<Record<number, FatLink>> = {
  [chainEnds.free]: { kind: 'free' },
  [chainEnds.end]: { kind: 'end' },
  [chainEnds.bad]: { kind: 'bad' },
  [chainEnds.invalid]: { kind: 'invalid' },
};

/** FAT specification 1.03, "FAT Data Structure": the mark of a bad cluster; all above it end a chain. */
const badValues = { fat12: 0xff7, fat16: 0xfff7, fat32: 0x0ffffff7 } as const;

/** What VALUE, without FAT32's four reserved bits, means in a volume of so many clusters. */
function stepOf({ kind, clusters }: FatGeometry, value: number): FatStep {
  if (value === 0) return chainEnds.free;
  if (value >= 2 && value < clusters + 2) return value;
  const mark = badValues[kind];
  if (value === mark) return chainEnds.bad;
  return value > mark ? chainEnds.end : chainEnds.invalid;
}

const pageBytes = 6144; // a multiple of 512 and of the three bytes that two FAT12 entries share
/** Most chains go straight on, and a page that is gone is read again. */
const mostPages = 64;

/** Answers one entry at a time from a bounded number of pages of the active table. */
export class FatTable {
  readonly #reader: SectorReader;
  readonly #geometry: FatGeometry;
  readonly #startByte: number;
  readonly #pagesKept: number;
  readonly #pages = new Map<number, DataView>();
  #latest: { readonly page: number; readonly view: DataView } | undefined;

  /** READER starts at the volume. PAGES KEPT of 6 KiB each bound the memory it takes. */
  constructor(reader: SectorReader, geometry: FatGeometry, activeCopy: number, pagesKept = mostPages) {
    this.#pagesKept = pagesKept;
    this.#reader = reader;
    this.#geometry = geometry;
    this.#startByte = (geometry.reservedSectors + activeCopy * geometry.fatSectors) * geometry.sectorBytes;
  }

  link(cluster: number): FatLink {
    const step = this.step(cluster);
    return links[step] ?? { kind: 'next', cluster: step };
  }

  step(cluster: number): FatStep {
    const value = this.value(cluster);
    return stepOf(this.#geometry, this.#geometry.kind === 'fat32' ? value & 0x0fffffff : value);
  }

  /** The entry as it stands there, FAT32's four reserved bits included. */
  value(cluster: number): number {
    switch (this.#geometry.kind) {
      case 'fat12': {
        const at = cluster + (cluster >> 1);
        const pair = this.#byte(at) | (this.#byte(at + 1) << 8);
        return (cluster & 1) === 0 ? pair & 0xfff : pair >> 4;
      }
      case 'fat16':
        return this.#page(cluster * 2).getUint16((cluster * 2) % pageBytes, true);
      case 'fat32':
        return this.#page(cluster * 4).getUint32((cluster * 4) % pageBytes, true);
    }
  }

  #byte(at: number): number {
    return this.#page(at).getUint8(at % pageBytes);
  }

  #page(at: number): DataView {
    const page = Math.floor(at / pageBytes);
    if (this.#latest?.page === page) return this.#latest.view;
    const view = this.#pages.get(page) ?? this.#readPage(page);
    this.#latest = { page, view };
    return view;
  }

  #readPage(page: number): DataView {
    const [oldest] = this.#pages.keys();
    if (this.#pages.size >= this.#pagesKept && oldest !== undefined) this.#pages.delete(oldest);
    const bytes = new Uint8Array(pageBytes);
    const at = this.#startByte + page * pageBytes;
    const there = Math.max(0, Math.min(pageBytes, this.#reader.sizeBytes - at));
    if (there >= 512) this.#reader.readSectors(at / 512, bytes.subarray(0, there - (there % 512)));
    const view = new DataView(bytes.buffer);
    this.#pages.set(page, view);
    return view;
  }
}

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
