import type { FatGeometry } from '../fat-geometry.ts';
import { foldName } from '../fat-name.ts';
import { BitSet, chainEnds, FatTable } from '../fat-table.ts';
import { folderPieces, isCluster, startOf } from '../folder-pieces.ts';
import { type Slot, SlotReader } from '../read-slots.ts';
import type { SectorReader } from '../sector-reader.ts';
import { type ExampleKind, type Flaw, FlawCounter } from './flaw.ts';

/** What somebody relies on, by path; what is not there is passed over. */
export interface WaysAsked {
  /** Firmware, files and folders: a panel looks for it by name. */
  readonly firmware: readonly string[];
  /** What tells any machine whether the firmware is whole. */
  readonly record: readonly string[];
}

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

interface Node {
  readonly below: Map<string, Node>;
  /** As they were asked for. */
  readonly asked: string[];
  isFirmware: boolean;
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
  readonly #root: Node = newNode();
  readonly #clusters: BitSet;
  readonly #counter = new FlawCounter();
  readonly #doubtful = new Set<string>();

  constructor(reader: SectorReader, geometry: FatGeometry, { firmware, record }: WaysAsked) {
    const table = new FatTable(reader, geometry, 0);
    this.#volume = { reader, geometry, table };
    this.#copies = [table, ...(geometry.fatCopies > 1 ? [new FatTable(reader, geometry, 1)] : [])];
    this.#clusters = new BitSet(geometry.clusters + 2);
    for (const path of firmware) this.#ask(path, true);
    for (const path of record) this.#ask(path, false);
  }

  audit(): WayAudit {
    const { rootCluster } = this.#volume.geometry;
    if (rootCluster !== undefined) this.#follow('/', rootCluster, undefined, this.#root);
    this.#walk('', undefined, this.#root);
    return {
      flaws: this.#counter.flaws(),
      clusters: this.#clusters,
      has: (path) => this.#find(path) !== undefined,
      doubtful: [...this.#doubtful],
    };
  }

  #ask(path: string, isFirmware: boolean): void {
    let node = this.#root;
    for (const part of foldName(path).split('/')) {
      const next = node.below.get(part) ?? newNode();
      node.below.set(part, next);
      next.isFirmware ||= isFirmware;
      node = next;
    }
    node.asked.push(path);
  }

  #find(path: string): Node | undefined {
    let node: Node | undefined = this.#root;
    for (const part of foldName(path).split('/')) if (part !== '') node = node?.below.get(part);
    return node;
  }

  #walk(path: string, start: number | undefined, node: Node): void {
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
    if (slots.namesAfterEnd > 0) this.#distrust(path || '/', node);
  }

  /** A second slot of the same name is a twin, which the walk over all folders tells. */
  readonly #wanted = (node: Node, { name }: Slot): Node | undefined => node.below.get(foldName(name));

  #visit(path: string, slot: Slot, node: Node): void {
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
  #follow(path: string, start: number, bytes: number | undefined, node: Node): boolean {
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

  #compareCopies(path: string, cluster: number, node: Node): void {
    const [value = 0, ...others] = this.#copies.map((copy) => copy.value(cluster));
    if (others.some((other) => other !== value)) this.#doubt('way-tables-differ', path, node);
    // "FAT Data Structure": FAT32's upper four bits are reserved; not every boot loader masks them.
    else if (this.#volume.geometry.kind === 'fat32' && value > 0x0fffffff) this.#doubt('way-damaged', path, node);
  }

  /** Once for each path and kind. */
  #doubt(kind: ExampleKind, path: string, node: Node): void {
    const key = `${kind} ${path}`;
    if (this.#said.has(key)) return;
    this.#said.add(key);
    this.#counter.add(kind, path);
    this.#distrust(path, node);
  }

  /** What is asked for there and below it leads nowhere for sure. */
  #distrust(path: string, node: Node): void {
    if (node.asked.length === 0) this.#doubtful.add(path.replace(/^\/(?=.)/, ''));
    const all = [node];
    for (let next = all.pop(); next !== undefined; next = all.pop()) {
      for (const asked of next.asked) this.#doubtful.add(asked);
      all.push(...next.below.values());
    }
  }

  readonly #said = new Set<string>();
}

/** Section 6.5: every folder but the root begins with itself and the one above; Linux refuses one that does not. */
function beginsWithDots(bytes: Uint8Array): boolean {
  const names = [0, 32].map((at) => String.fromCharCode(...bytes.subarray(at, at + 11)).trimEnd());
  return names[0] === '.' && names[1] === '..';
}

const newNode = (): Node => ({ below: new Map(), asked: [], isFirmware: false });

/** DIR_Attr 0x02 and 0x04. */
const hiddenOrSystem = 0x06;
