import type { FatGeometry } from './fat-geometry.ts';
import { foldName } from './fat-name.ts';
import { BitSet, FatTable } from './fat-table.ts';
import { folderPieces, isCluster, placeOf, startOf, type TabledVolume } from './folder-pieces.ts';
import { SlotReader } from './read-slots.ts';
import { findRootBehind, type TableEntry } from './root-behind.ts';
import { readAt, type SectorReader } from './sector-reader.ts';

/** A name that a cut left behind. */
export interface CutName {
  /** In upper case. */
  readonly path: string;
  /** Where its slots of 32 bytes lie, in bytes from the volume's start. */
  readonly slotsAt: readonly number[];
}

/**
 * How far a name is the tool's own: `work` may go at any time, `copy` where the same file has another name, `other`
 * never.
 */
export type NameClass = 'work' | 'copy' | 'other';

interface Name {
  readonly path: string;
  readonly isFolder: boolean;
  readonly start: number;
  readonly bytes: number;
  readonly slotsAt: readonly number[];
  /** Where the folder that holds it starts; 0 for the root, as a `..` slot writes it. */
  readonly parent: number;
}

/** What a cut left of the tool's own work. */
export interface CutWork {
  readonly names: readonly CutName[];
  /**
   * Clusters that a piece of unfinished work holds beyond what its length takes, or lacks where negative, by its path
   * in upper case: its clusters were being taken or given back.
   */
  readonly held: ReadonlyMap<string, number>;
  /** What `findRootBehind` finds. */
  readonly behind: readonly TableEntry[];
}

const maxDepth = 64;
/** Twice what is ever listed of a volume: one with more is refused there. */
const maxNames = 200_000;

/**
 * Names that must not be used, because power went while they were made: a second name for a file or folder that has
 * one, and unfinished work whose clusters the table does not hold. FAT has no other way to tell; `classOf` says which
 * names may be such, given a path in upper case. Everything else is left as it is, whatever its state. Work that holds
 * clusters of its own keeps its name, however many, so that they are given back with it.
 */
export function findCutNames(
  reader: SectorReader,
  geometry: FatGeometry,
  classOf: (path: string) => NameClass,
): CutWork {
  const walk = new Walk(reader, geometry);
  walk.from('', undefined, 0);
  const buried = walk.buried.filter(({ path }) => classOf(path) === 'work');
  const isOwn = ({ path }: Name): boolean => classOf(path) !== 'other';
  const found = walk.doubles.filter(({ name, other }) => isOwn(name) || isOwn(other)).map(({ name }) => name);
  const rank = { other: 0, copy: 1, work: 2 };
  const held = new Map<string, number>();
  const whole = new Map<number, number>();
  const names = walk.names.toSorted((a, b) => rank[classOf(a.path)] - rank[classOf(b.path)]);
  for (const name of names) {
    const kind = classOf(name.path);
    const { state, surplus } = walk.claim(name);
    if (kind === 'work' && state === 'cut') held.set(name.path, surplus);
    const isCopy = kind === 'copy' && whole.get(name.start) === name.bytes; // not one that only shares some of its place
    if (state !== 'shared') whole.set(name.start, name.bytes);
    if ((state === 'shared' && (isCopy || kind === 'work')) || (state === 'broken' && kind === 'work'))
      found.push(name);
  }
  const behind = findRootBehind(reader, geometry) ?? [];
  return { names: [...found, ...buried].map(({ path, slotsAt }) => ({ path, slotsAt })), held, behind };
}

class Walk {
  names: Name[] = [];
  readonly doubles: { readonly name: Name; readonly other: Name }[] = [];
  /**
   * Names behind the slot that ends their folder: a sector between did not arrive. New names in it would dig them up.
   */
  readonly buried: CutName[] = [];
  readonly #volume: TabledVolume;
  readonly #claimed: BitSet;
  readonly #folders = new Map<number, Name>();

  constructor(reader: SectorReader, geometry: FatGeometry) {
    this.#volume = { reader, geometry, table: new FatTable(reader, geometry, 0) };
    this.#claimed = new BitSet(geometry.clusters + 2);
  }

  /**
   * Collects what is in a folder and below it. Of two names of one folder, the one that its `..` slot agrees with
   * stays.
   */
  from(path: string, folder: Name | undefined, depth: number): void {
    if (depth > maxDepth || this.names.length > maxNames) return;
    for (const name of this.#namesIn(path, folder)) {
      if (this.names.length > maxNames) return;
      if (!name.isFolder) {
        this.names.push(name);
        continue;
      }
      const other = this.#folders.get(name.start);
      if (other !== undefined) {
        if (this.#dots(name)?.parent !== name.parent) {
          this.doubles.push({ name, other });
          continue;
        }
        this.doubles.push({ name: other, other: name });
        this.names = this.names.filter((one) => one !== other && !one.path.startsWith(`${other.path}/`));
      }
      this.#folders.set(name.start, name);
      this.names.push(name);
      if (this.#dots(name)?.own === name.start) this.from(name.path, name, depth + 1);
    }
  }

  /**
   * Marks the clusters of NAME as taken. `cut`: a file whose chain is its own, and shorter or longer than its length
   * takes.
   */
  claim(name: Name): { readonly state: 'sound' | 'cut' | 'shared' | 'broken'; readonly surplus: number } {
    const isWhole = !name.isFolder || this.#dots(name)?.own === name.start;
    const needed = name.isFolder ? 1 : Math.ceil(name.bytes / this.#volume.geometry.clusterBytes);
    const found = !isWhole ? 'broken' : name.start === 0 && needed === 0 ? [] : this.#chainOf(name.start);
    if (typeof found === 'string') return { state: found, surplus: 0 };
    const surplus = name.isFolder ? 0 : found.length - needed;
    return { state: surplus === 0 ? 'sound' : 'cut', surplus };
  }

  /**
   * Up to where it runs into a free cluster, as one does that is being taken or given back from its end. What it comes
   * to is taken, however it ends, unless another name has some of it.
   */
  #chainOf(start: number): readonly number[] | 'shared' | 'broken' {
    const chain: number[] = [];
    const found = this.#collect(start, chain);
    if (found !== 'shared') for (const cluster of chain) this.#claimed.add(cluster);
    return found;
  }

  #collect(start: number, chain: number[]): readonly number[] | 'shared' | 'broken' {
    for (let cluster = start; ; ) {
      if (!isCluster(this.#volume.geometry, cluster) || chain.length > this.#volume.geometry.clusters) return 'broken';
      if (this.#claimed.has(cluster)) return 'shared';
      const link = this.#volume.table.link(cluster);
      if (link.kind === 'free' && chain.length > 0) return chain;
      if (link.kind !== 'next' && link.kind !== 'end') return 'broken';
      chain.push(cluster);
      if (link.kind !== 'next') return chain;
      cluster = link.cluster;
    }
  }

  *#namesIn(path: string, folder: Name | undefined): Iterable<Name> {
    const slots = new SlotReader();
    let slotsAt: number[] = [];
    const buried: number[] = [];
    for (const { at, bytes } of folderPieces(this.#volume, folder?.start)) {
      for (let offset = 0; offset < bytes.length; offset += 32) {
        if (slots.ended) {
          if (bytes[offset] !== 0 && bytes[offset] !== 0xe5) buried.push(at + offset);
          continue;
        }
        slotsAt.push(at + offset);
        for (const slot of slots.read(bytes.subarray(offset, offset + 32))) {
          if (slot.kind === 'file' || slot.kind === 'folder') {
            const own = foldName(`${path === '' ? '' : `${path}/`}${slot.name}`);
            const start = startOf(this.#volume.geometry, slot.startCluster);
            const isFolder = slot.kind === 'folder';
            yield { path: own, isFolder, start, bytes: slot.bytes, slotsAt, parent: folder?.start ?? 0 };
          }
          slotsAt = [];
        }
        if (bytes[offset] === 0xe5) slotsAt = [];
      }
    }
    // No name in a folder has a question mark.
    if (buried.length > 0) this.buried.push({ path: `${path}/?`, slotsAt: buried });
  }

  /** The first two slots of a folder name itself and the one above (FAT specification, section 6.5). */
  #dots({ start }: Name): { own: number; parent: number } | undefined {
    if (!isCluster(this.#volume.geometry, start)) return undefined;
    const bytes = readAt(this.#volume.reader, placeOf(this.#volume.geometry, start), 512);
    const [own, parent] = [...new SlotReader().read(bytes.subarray(0, 64))];
    if (own?.kind !== 'dot' || parent?.kind !== 'dot') return undefined;
    return {
      own: startOf(this.#volume.geometry, own.startCluster),
      parent: startOf(this.#volume.geometry, parent.startCluster),
    };
  }
}
