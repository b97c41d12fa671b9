import type { FatGeometry } from '../fat-geometry.ts';
import { foldName } from '../fat-name.ts';
import { readRootSlots } from '../fat-root.ts';
import { BitSet, type FatTable } from '../fat-table.ts';
import { isCluster, placeOf, startOf } from '../folder-pieces.ts';
import { type Slot, SlotReader } from '../read-slots.ts';
import { readAt, type SectorReader } from '../sector-reader.ts';
import type { WayAudit } from './audit-ways.ts';
import { type ExampleKind, type Flaw, FlawCounter, flaw } from './flaw.ts';
import { type Chain, ChainFollower, endsInWords, type FirstHolders, type Held, SharedPlaces } from './follow-chain.ts';

export interface FolderWalk {
  /** Clusters that some name reaches. */
  readonly reached: BitSet;
  readonly files: number;
  readonly folders: number;
  readonly rootLabel: string | undefined;
  /** Free slots of a fixed root folder. */
  readonly rootSlotsFree: number | undefined;
  readonly flaws: readonly Flaw[];
  /** False where the walk stopped at a bound. */
  readonly complete: boolean;
}

/** Bounds that no real stick comes near. A folder has at most 65,536 slots (specification 6). */
export const maxSlots = 4_000_000;
const maxFolderSlots = 65_536;
export const maxDepth = 128;

interface Folder {
  readonly path: string;
  /** 0 for the root, as a `..` slot writes it. */
  readonly start: number;
  readonly parent: number;
  readonly depth: number;
}

/** What one folder has shown so far. */
interface Seen {
  readonly names: Map<string, string>;
  readonly starts: Set<number>;
  dotsWrong: boolean;
}

/** Visits every folder once, follows every chain once, and marks what it reaches. */
export class FolderWalker {
  readonly #reader: SectorReader;
  readonly #geometry: FatGeometry;
  readonly #table: FatTable;
  readonly #ways: WayAudit | undefined;
  readonly #chains: ChainFollower;
  /** First clusters of folders that were found, walked or not. */
  readonly #claimed: BitSet;
  readonly #counter = new FlawCounter();
  readonly #shared = new SharedPlaces();
  readonly #flaws: Flaw[] = [];
  readonly #waiting: Folder[] = [];
  #slots = 0;
  #files = 0;
  #folders = 0;
  #labels: string[] = [];
  #rootSlotsFree: number | undefined;
  #complete = true;

  /** What is found on one of WAYS is told as that, too: a cut leaves such things, but not where we rely on them. */
  constructor(reader: SectorReader, geometry: FatGeometry, table: FatTable, ways?: WayAudit, firsts?: FirstHolders) {
    this.#ways = ways;
    this.#reader = reader;
    this.#geometry = geometry;
    this.#table = table;
    this.#chains = new ChainFollower(table, geometry.clusters, firsts);
    this.#claimed = new BitSet(geometry.clusters + 2);
  }

  walk(): FolderWalk {
    this.#walkAll();
    if (!this.#complete)
      this.#flaws.push(
        flaw('too-much-to-check', { what: `more than ${maxSlots} directory slots, or folders ${maxDepth} deep` }),
      );
    return {
      reached: this.#chains.reached,
      files: this.#files,
      folders: this.#folders,
      rootLabel: this.#labels[0],
      rootSlotsFree: this.#rootSlotsFree,
      flaws: [...this.#flaws, ...this.#counter.flaws(this.#shared.pairs((firsts) => this.#again(firsts)))],
      complete: this.#complete,
    };
  }

  #again(firsts: FirstHolders): void {
    new FolderWalker(this.#reader, this.#geometry, this.#table, undefined, firsts).#walkAll();
  }

  #walkAll(): void {
    this.#walkRoot();
    for (let next = this.#waiting.pop(); next !== undefined; next = this.#waiting.pop()) {
      if (this.#slots > maxSlots) {
        this.#complete = false;
        break;
      }
      this.#folders++;
      const held = { ...next, bytes: 0 };
      const chain = this.#chains.follow(next.start, held);
      this.#noteEnd(chain, held);
      this.#readFolder(next, this.#clustersOf(chain, next));
    }
  }

  #walkRoot(): void {
    const { rootCluster, rootSlots, rootFirstSector, sectorBytes } = this.#geometry;
    const root: Folder = { path: '', start: 0, parent: 0, depth: 0 };
    if (rootCluster !== undefined) {
      const chain = this.#chains.follow(rootCluster);
      if (chain.end !== 'end') this.#flaws.push(flaw('root-damaged', { problem: endsInWords[chain.end] }));
      this.#readFolder(root, this.#clustersOf(chain, root));
      return;
    }
    const slots = readAt(this.#reader, rootFirstSector * sectorBytes, Math.ceil((rootSlots * 32) / 512) * 512);
    const bytes = slots.subarray(0, rootSlots * 32);
    this.#rootSlotsFree = readRootSlots(bytes).slotsFree;
    this.#readFolder(root, [bytes]);
  }

  *#clustersOf(chain: Chain, folder: Folder): Iterable<Uint8Array> {
    const { clusterBytes } = this.#geometry;
    const most = Math.max(1, Math.floor((maxFolderSlots * 32) / clusterBytes));
    if (chain.length > most) this.#note('folder-damaged', folder.path || '/');
    let cluster = chain.start;
    for (let index = 0; index < Math.min(chain.length, most); index++) {
      yield readAt(this.#reader, placeOf(this.#geometry, cluster), clusterBytes);
      cluster = this.#table.step(cluster);
      if (cluster < 0) return;
    }
  }

  #readFolder(folder: Folder, pieces: Iterable<Uint8Array>): void {
    const reader = new SlotReader();
    const seen: Seen = { names: new Map(), starts: new Set(), dotsWrong: false };
    const deleted: Slot[] = [];
    let index = 0;
    for (const bytes of pieces) {
      for (const slot of reader.read(bytes)) {
        if (slot.kind === 'deleted' && folder.path !== '' && index < 2) seen.dotsWrong = true;
        if (slot.kind === 'deleted') deleted.push(slot);
        else this.#visit(folder, slot, index, seen);
        index++;
      }
      this.#slots += bytes.length / 32;
      if (this.#slots > maxSlots) break;
    }
    reader.finish();
    const path = folder.path || '/';
    if (seen.dotsWrong || (folder.path !== '' && index < 2)) this.#note('folder-damaged', path);
    if (reader.orphans > 0) this.#counter.add('long-name-orphan', path);
    if (reader.damaged > 0) this.#counter.add('slot-damaged', path);
    if (reader.namesAfterEnd > 0) this.#counter.add('names-after-end', path);
    else if (reader.afterEnd > 0) this.#counter.add('slots-after-end', path);
    if (folder.path === '') this.#noteStale(deleted, seen.starts);
  }

  /** A renamed file leaves a deleted slot too, but one that starts where a living one does. */
  #noteStale(deleted: readonly Slot[], starts: ReadonlySet<number>): void {
    for (const { name, startCluster, bytes } of deleted)
      if (bytes > 0 && !starts.has(startOf(this.#geometry, startCluster))) this.#counter.add('stale-slots', name);
  }

  #visit(folder: Folder, slot: Slot, index: number, seen: Seen): void {
    const path = `${folder.path}/${slot.name}`;
    const start = startOf(this.#geometry, slot.startCluster);
    if (slot.kind === 'label') {
      this.#noteLabel(folder, slot, path);
      return;
    }
    const expectsDot = folder.path !== '' && index < 2;
    if (expectsDot || slot.kind === 'dot') {
      const isRight = slot.kind === 'dot' && expectsDot && slot.short.trimEnd() === (index === 0 ? '.' : '..');
      if (!isRight || start !== (index === 0 ? folder.start : folder.parent)) seen.dotsWrong = true;
      if (slot.kind === 'dot') return;
    }
    seen.starts.add(start);
    if (slot.nameInvalid) this.#counter.add('name-invalid', path);
    this.#noteTwins(slot, path, seen.names);
    if (slot.kind === 'folder') this.#visitFolder(folder, slot, path, start);
    else this.#visitFile(slot, path, start);
  }

  /** FAT knows no case, and the short names of one folder must differ too. */
  #noteTwins(slot: Slot, path: string, names: Map<string, string>): void {
    const twins = [`s${slot.short}`, `l${foldName(slot.name)}`];
    const other = twins.map((twin) => names.get(twin)).find((one) => one !== undefined);
    if (other !== undefined) this.#note('name-duplicate', path, this.#isOnWay(other));
    for (const twin of twins) names.set(twin, path);
  }

  #noteLabel(folder: Folder, slot: Slot, path: string): void {
    if (folder.path !== '') this.#counter.add('name-invalid', path);
    else {
      this.#labels.push(slot.short.trimEnd());
      if (this.#labels.length > 1) this.#counter.add('several-labels', slot.short.trimEnd());
    }
  }

  #visitFolder(folder: Folder, slot: Slot, path: string, start: number): void {
    if (slot.bytes !== 0) this.#counter.add('folder-states-size', path);
    if (!isCluster(this.#geometry, start)) this.#note('start-cluster-invalid', path);
    else if (this.#chains.reached.has(start) || this.#claimed.add(start))
      this.#noteCrossed({ path, start, bytes: 0 }, start);
    else if (folder.depth >= maxDepth) this.#complete = false;
    else this.#waiting.push({ path, start, parent: folder.start, depth: folder.depth + 1 });
  }

  #visitFile(slot: Slot, path: string, start: number): void {
    this.#files++;
    if (start === 0 && slot.bytes === 0) return;
    if (!isCluster(this.#geometry, start)) {
      this.#note('start-cluster-invalid', path);
      return;
    }
    const held = { path, start, bytes: slot.bytes };
    const chain = this.#chains.follow(start, held);
    const needed = Math.ceil(slot.bytes / this.#geometry.clusterBytes);
    this.#noteEnd(chain, held);
    if (chain.end === 'end' && chain.length < needed) this.#note('chain-short', path);
    if (chain.end === 'end' && chain.length > needed) this.#counter.add('chain-long', path);
  }

  #noteEnd({ end, crossedAt }: Chain, held: Held): void {
    if (crossedAt !== undefined) this.#noteCrossed(held, crossedAt);
    else if (end !== 'end') this.#note(end === 'loop' ? 'chain-loops' : 'chain-broken', held.path);
  }

  #noteCrossed(held: Held, at: number): void {
    this.#shared.add(at, held);
    this.#note('cross-linked', held.path, this.#ways?.clusters.has(at));
  }

  /** TOUCHES a way although PATH is none. */
  #note(kind: ExampleKind, path: string, touches = false): void {
    this.#counter.add(kind, path);
    if (touches || this.#isOnWay(path)) this.#counter.add('way-damaged', path);
  }

  #isOnWay(path: string): boolean {
    return this.#ways?.has(path) === true;
  }
}
