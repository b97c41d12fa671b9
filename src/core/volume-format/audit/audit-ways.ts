import type { FatGeometry } from '../fat-geometry.ts';
import { foldName } from '../fat-name.ts';
import { BitSet, chainEnds, FatTable } from '../fat-table.ts';
import { folderPieces, isCluster, startOf } from '../folder-pieces.ts';
import { type Slot, SlotReader } from '../read-slots.ts';
import { findRootBehind } from '../root-behind.ts';
import type { SectorReader } from '../sector-reader.ts';
import type { ExampleKind, Flaw } from './flaw.ts';
import { hiddenOrSystem, type WayNode, type WaysAsked, WayTree } from './way-tree.ts';

export interface WayAudit {
  readonly flaws: readonly Flaw[];
  /** Clusters of every file that was asked for, and of the folders above. */
  readonly clusters: BitSet;
  /** Whether PATH was asked for, or lies above something that was. */
  readonly has: (path: string) => boolean;
  /**
   * Paths as they were asked for, to which something leads that is not as it must be; and folders above them that are
   * the cause.
   */
  readonly doubtful: readonly string[];
}

/**
 * Reads what leads to files as the strictest of all readers would: each folder and slot on the way, and each chain in
 * every copy of the table. What every formatter and system writes is sound; whatever differs from that is read in one
 * way here and another there.
 */
export function auditWays(reader: SectorReader, geometry: FatGeometry, asked: WaysAsked): WayAudit {
  return new Ways(reader, geometry, asked).audit();
}

class Ways {
  readonly #volume;
  readonly #copies: readonly FatTable[];
  readonly #tree: WayTree;
  readonly #clusters: BitSet;
  readonly #mendsRoot: boolean;

  constructor(reader: SectorReader, geometry: FatGeometry, asked: WaysAsked) {
    const table = new FatTable(reader, geometry, 0);
    this.#volume = { reader, geometry, table };
    this.#copies = [table, ...(geometry.fatCopies > 1 ? [new FatTable(reader, geometry, 1)] : [])];
    this.#clusters = new BitSet(geometry.clusters + 2);
    this.#tree = new WayTree(asked);
    this.#mendsRoot = asked.mendsRoot === true && findRootBehind(reader, geometry) !== undefined;
  }

  audit(): WayAudit {
    const { rootCluster } = this.#volume.geometry;
    const { root } = this.#tree;
    if (rootCluster !== undefined) this.#follow('/', rootCluster, undefined, root);
    this.#walk('', undefined, root);
    return {
      flaws: this.#tree.flaws,
      clusters: this.#clusters,
      has: (path) => this.#tree.find(path) !== undefined,
      doubtful: this.#tree.doubtful,
    };
  }

  #walk(path: string, start: number | undefined, node: WayNode): void {
    const slots = new SlotReader();
    let isFirst = start !== undefined;
    for (const { bytes } of folderPieces(this.#volume, start)) {
      if (isFirst && !beginsWithDots(bytes)) this.#doubt('way-damaged', path, node);
      isFirst = false;
      for (const slot of slots.read(bytes)) {
        const next = slot.kind === 'file' || slot.kind === 'folder' ? this.#wanted(node, slot) : undefined;
        if (next !== undefined) this.#visit(`${path}/${slot.name}`, slot, next);
        else if (slot.kind === 'dot' && slot.odd && path !== '') this.#doubt('way-slot-odd', path, node);
      }
    }
    if (slots.misplaced > 0) this.#doubt('way-slot-odd', path || '/', node);
    // The walk over all folders says it; what lies there is not to be relied on all the same.
    if (slots.namesAfterEnd > 0) this.#tree.distrust(path || '/', node);
  }

  /** A second slot of the same name is a twin, which the walk over all folders tells. */
  readonly #wanted = (node: WayNode, { name }: Slot): WayNode | undefined => node.below.get(foldName(name));

  #visit(path: string, slot: Slot, node: WayNode): void {
    const { geometry } = this.#volume;
    const hasOddStart = geometry.kind !== 'fat32' && slot.startCluster > 0xffff;
    if (slot.odd || slot.nameInvalid || hasOddStart) this.#doubt('way-slot-odd', path, node);
    if (node.isFirmware && (slot.attributes & hiddenOrSystem) !== 0) this.#doubt('firmware-hidden', path, node);
    const start = startOf(geometry, slot.startCluster);
    const isFolder = slot.kind === 'folder';
    if (isFolder !== node.below.size > 0 && node.asked.length === 0) return; // a file where a folder was: others say so
    if (start === 0 && slot.bytes === 0 && !isFolder) return;
    if (!this.#follow(path, start, isFolder ? undefined : slot.bytes, node)) return;
    if (isFolder) this.#walk(path, start, node);
  }

  /** Whether the chain leads anywhere. BYTES are a file's, of which a chain may have more clusters than it needs. */
  #follow(path: string, start: number, bytes: number | undefined, node: WayNode): boolean {
    const { geometry } = this.#volume;
    const needed = bytes === undefined ? 1 : Math.ceil(bytes / geometry.clusterBytes);
    let length = 0;
    let end: number = start;
    for (let cluster = start; ; cluster = end) {
      if (!isCluster(geometry, cluster) || this.#clusters.add(cluster)) {
        this.#doubt('way-damaged', path, node);
        return false;
      }
      length++;
      this.#compareCopies(path, cluster, node);
      end = this.#volume.table.step(cluster);
      if (end === chainEnds.end) break;
    }
    if (length < needed) this.#doubt('way-damaged', path, node);
    return true;
  }

  #compareCopies(path: string, cluster: number, node: WayNode): void {
    const [value = 0, ...others] = this.#copies.map((copy) => copy.value(cluster));
    const differ = others.some((other) => other !== value);
    if (differ && path === '/' && this.#mendsRoot) this.#tree.distrustBelow(node);
    else if (differ) this.#doubt('way-tables-differ', path, node);
    // "FAT Data Structure": FAT32's upper four bits are reserved; not every boot loader masks them.
    else if (this.#volume.geometry.kind === 'fat32' && value > 0x0fffffff) this.#doubt('way-damaged', path, node);
  }

  #doubt(kind: ExampleKind, path: string, node: WayNode): void {
    this.#tree.doubt(kind, path, node);
  }
}

/** Section 6.5: every folder but the root begins with itself and the one above; Linux refuses one that does not. */
function beginsWithDots(bytes: Uint8Array): boolean {
  const names = [0, 32].map((at) => String.fromCharCode(...bytes.subarray(at, at + 11)).trimEnd());
  return names[0] === '.' && names[1] === '..';
}
