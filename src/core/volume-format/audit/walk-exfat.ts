import { foldName } from '../fat-name.ts';
import type { BitSet } from '../fat-table.ts';
import { type ExfatRootEntry, type ExfatSet, SetReader } from './exfat-sets.ts';
import type { Allocation, AllocationBitmap, ExfatVolume } from './exfat-volume.ts';
import { type ExampleKind, type Flaw, FlawCounter, flaw } from './flaw.ts';
import { type Chain, ChainFollower, endsInWords, type FirstHolders, type Held, SharedPlaces } from './follow-chain.ts';
import { maxDepth, maxSlots } from './walk-folders.ts';
import { hiddenOrSystem, type WayNode, WayTree } from './way-tree.ts';

/** 7.6.7 lets a folder grow to 256 MiB; one with more entries than this is no stick for panels, and takes memory. */
const maxFolderEntries = 1_000_000;

interface Folder {
  readonly path: string;
  readonly allocation: Allocation;
  readonly depth: number;
  /** Undefined where nothing in it was asked for. */
  readonly node: WayNode | undefined;
}

export interface ExfatWalk {
  /** Clusters that some name, or the volume itself, reaches. */
  readonly reached: BitSet;
  readonly files: number;
  readonly folders: number;
  readonly flaws: readonly Flaw[];
  /** False where the walk stopped at a bound. */
  readonly complete: boolean;
}

export interface ExfatTables {
  readonly bitmap: AllocationBitmap | undefined;
  readonly upCase: (unit: number) => number;
}

/**
 * Visits every folder once, follows every allocation once, and marks what it reaches; what is found on one of WAYS is
 * told as that.
 */
export class ExfatWalker {
  readonly #volume: ExfatVolume;
  readonly #tables: ExfatTables;
  readonly #ways: WayTree;
  readonly #chains: ChainFollower;
  readonly #counter = new FlawCounter();
  readonly #shared = new SharedPlaces();
  readonly #flaws: Flaw[] = [];
  readonly #waiting: Folder[] = [];
  /** Where each way leads, so that what somebody else lays over it is found. */
  readonly #led: { readonly path: string; readonly node: WayNode; readonly allocation: Allocation }[] = [];
  readonly #crossings = new Set<number>();
  #entries = 0;
  #files = 0;
  #folders = 0;
  #complete = true;

  constructor(volume: ExfatVolume, tables: ExfatTables, ways: WayTree, firsts?: FirstHolders) {
    this.#volume = volume;
    this.#tables = tables;
    this.#ways = ways;
    this.#chains = new ChainFollower(volume, volume.geometry.clusters, firsts);
  }

  /** OWN are the volume's tables, by what they are; no name leads to them. */
  walk(own: Readonly<Record<string, Allocation>>): ExfatWalk {
    this.#walkAll(own);
    this.#noteCrossed();
    const pairs = this.#shared.pairs((firsts) =>
      new ExfatWalker(this.#volume, this.#tables, new WayTree({ firmware: [], record: [] }), firsts).#walkAll(own),
    );
    const most = `more than ${maxSlots} directory slots, or folders ${maxDepth} deep`;
    return {
      reached: this.#chains.reached,
      files: this.#files,
      folders: this.#folders,
      flaws: [
        ...this.#flaws,
        ...this.#counter.flaws(pairs),
        ...(this.#complete ? [] : [flaw('too-much-to-check', { what: most })]),
      ],
      complete: this.#complete,
    };
  }

  #walkAll(own: Readonly<Record<string, Allocation>>): void {
    const { rootCluster, clusterBytes } = this.#volume.geometry;
    const { root: node } = this.#ways;
    const chain = this.#chains.follow(rootCluster);
    const root = { start: rootCluster, bytes: chain.length * clusterBytes, contiguous: false };
    this.#noteOwn('', root, chain);
    for (const [what, allocation] of Object.entries(own)) {
      const isThere = this.#volume.isCluster(allocation.start);
      if (isThere) this.#noteOwn(`of its ${what}, `, allocation, this.#chains.follow(allocation.start));
    }
    this.#readFolder({ path: '', allocation: root, depth: 0, node });
    for (let next = this.#waiting.pop(); next !== undefined && this.#complete; next = this.#waiting.pop()) {
      this.#folders++;
      this.#readFolder(next);
    }
  }

  #readFolder(folder: Folder): void {
    const reader = new SetReader(folder.path === '', this.#tables.upCase);
    const names = new Set<string>();
    let count = 0;
    for (const piece of this.#volume.piecesOf(folder.allocation)) {
      const isLast = reader.hasEnded;
      for (const item of reader.read(piece)) if (isSet(item)) this.#visit(folder, item, names);
      count += piece.length / 32;
      this.#entries += piece.length / 32;
      if (count > maxFolderEntries || this.#entries > maxSlots) this.#complete = false;
      if (!this.#complete || isLast) break; // a piece behind the end, and no more
    }
    reader.finish();
    const path = folder.path || '/';
    if (reader.damaged > 0) this.#counter.add(damagedKind(folder), path);
    if (reader.afterEnd > 0) this.#counter.add('slots-after-end', path);
  }

  #visit(folder: Folder, set: ExfatSet, names: Set<string>): void {
    const path = `${folder.path}/${set.name}`;
    const node = folder.node?.below.get(foldName(set.name));
    const { bytes, start } = set.allocation;
    if (set.odd && node === undefined) this.#counter.add(damagedKind(folder), path);
    if (set.nameInvalid) this.#counter.add('name-invalid', path);
    if (names.has(set.upper)) this.#note('name-duplicate', path, node); // 7.7: unique after up-casing
    names.add(set.upper);
    if (node !== undefined) this.#doubtSet(path, set, node);
    for (const other of set.others) this.#follow(path, other, node);
    if (set.kind === 'file') this.#files++;
    const leads = start !== 0 || bytes !== 0 ? this.#follow(path, set.allocation, node) : bytes === 0;
    if (set.kind === 'file' || !leads) return;
    if (bytes % this.#volume.geometry.clusterBytes !== 0) this.#note('folder-damaged', path, node); // 7.6.7
    if (folder.depth >= maxDepth) this.#complete = false;
    else if (bytes > 0) this.#waiting.push({ path, allocation: set.allocation, depth: folder.depth + 1, node });
  }

  /** What some readers pass over, some refuse, and some do not even look at. */
  #doubtSet(path: string, set: ExfatSet, node: WayNode): void {
    const isCutShort = set.validBytes < set.allocation.bytes;
    if (set.odd || set.nameInvalid || isCutShort) this.#ways.doubt('way-slot-odd', path, node);
    if (node.isFirmware && (set.attributes & hiddenOrSystem) !== 0) this.#ways.doubt('firmware-hidden', path, node);
  }

  /** The root folder, and the tables of the volume: nothing is sound without them. */
  #noteOwn(lead: string, allocation: Allocation, chain: Chain): void {
    const { end, length } = chain;
    const isShort = length < Math.ceil(allocation.bytes / this.#volume.geometry.clusterBytes);
    const problem = end === 'end' ? (isShort ? 'it breaks off' : undefined) : endsInWords[end];
    if (problem !== undefined) this.#flaws.push(flaw('exfat-root-damaged', { problem: `${lead}${problem}` }));
    this.#led.push({ path: '/', node: this.#ways.root, allocation });
    this.#askBitmap('/', allocation, undefined);
  }

  /** Whether it leads anywhere that nobody reached before. */
  #follow(path: string, allocation: Allocation, node: WayNode | undefined): boolean {
    const { start, bytes, contiguous } = allocation;
    const { clusterBytes, clusters } = this.#volume.geometry;
    const needed = Math.ceil(bytes / clusterBytes);
    if (!this.#volume.isCluster(start) || (contiguous && start + needed > clusters + 2)) {
      this.#note('start-cluster-invalid', path, node);
      return false;
    }
    const held: Held = { path, start, bytes };
    const chain = contiguous ? this.#chains.mark(start, needed, held) : this.#chains.follow(start, held);
    // No more is looked at again than was marked, and where it met another: any number of names may claim all.
    const marked = { ...allocation, bytes: Math.min(bytes, (chain.length + 1) * clusterBytes) };
    if (node !== undefined) this.#led.push({ path, node, allocation: marked });
    if (chain.end !== 'end') this.#note(endKind(chain), path, node);
    if (chain.crossedAt !== undefined) {
      this.#crossings.add(chain.crossedAt);
      this.#shared.add(chain.crossedAt, held);
    }
    if (chain.end === 'end' && chain.length < needed) this.#note('chain-short', path, node);
    if (chain.end === 'end' && chain.length > needed) this.#counter.add('chain-long', path);
    this.#askBitmap(path, marked, node);
    return chain.end !== 'crossed' && chain.end !== 'loop';
  }

  /** 7.1.5.1: what is in use must not be given away. */
  #askBitmap(path: string, allocation: Allocation, node: WayNode | undefined): void {
    const { bitmap } = this.#tables;
    if (bitmap === undefined) return;
    for (const cluster of this.#volume.clustersOf(allocation)) {
      if (bitmap.has(cluster)) continue;
      if (node === undefined) this.#counter.add('used-marked-free', path);
      else this.#ways.doubt('way-marked-free', path, node);
      return;
    }
  }

  /**
   * The one that came second was told; on the way to what is asked for, it may be the first. Where only one of those
   * ways leads to the place, the other one is somebody's: whoever removes or writes anew the one takes the other's.
   */
  #noteCrossed(): void {
    if (this.#crossings.size === 0) return;
    const waysTo = new Map<number, string[]>();
    for (const { path, node, allocation } of this.#led)
      for (const cluster of this.#volume.clustersOf(allocation)) {
        if (!this.#crossings.has(cluster)) continue;
        this.#ways.doubt('way-damaged', path, node);
        waysTo.set(cluster, [...(waysTo.get(cluster) ?? []), path]);
      }
    const shared = [...waysTo.values()].filter((paths) => paths.length === 1).flat();
    for (const path of new Set(shared)) this.#counter.add('way-shared', path);
  }

  #note(kind: ExampleKind, path: string, node: WayNode | undefined): void {
    this.#counter.add(kind, path);
    if (node !== undefined) this.#ways.doubt('way-damaged', path, node);
  }
}

const isSet = (item: ExfatSet | ExfatRootEntry): item is ExfatSet => item.kind === 'file' || item.kind === 'folder';

const endKind = ({ end }: Chain): ExampleKind =>
  end === 'loop' ? 'chain-loops' : end === 'crossed' ? 'cross-linked' : 'chain-broken';

/** Some readers refuse a whole folder for it, and do not come to what they look for. */
const damagedKind = ({ node }: Folder): ExampleKind => (node === undefined ? 'slot-damaged' : 'exfat-entries-damaged');
