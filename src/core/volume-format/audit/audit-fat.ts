import { type FatGeometry, fatBytesFor } from '../fat-geometry.ts';
import { bootSectorLabel, bootSectorSerial } from '../fat-root.ts';
import { BitSet, FatTable } from '../fat-table.ts';
import { readAt, type SectorReader } from '../sector-reader.ts';
import { activeFatCopy, auditFatBoot, auditFsInfo } from './audit-fat-boot.ts';
import { auditWays } from './audit-ways.ts';
import { type Flaw, flaw, type VolumeFacts } from './flaw.ts';
import { type FolderWalk, FolderWalker } from './walk-folders.ts';
import type { WaysAsked } from './way-tree.ts';

export type FatAudit = Pick<
  VolumeFacts,
  'freeClusters' | 'label' | 'serial' | 'files' | 'folders' | 'doubtful' | 'flaws'
>;

/**
 * Fewer free slots than this in a fixed root folder do not take a firmware with long names (common practice, no
 * source).
 */
const fewSlots = 24;

/**
 * All of a FAT volume but its files' content: table, folders, chains, and what leads to the files ASKED for more
 * strictly than the rest. READER starts at the volume, which starts at START on the medium.
 */
export function auditFat(reader: SectorReader, geometry: FatGeometry, startByte: number, asked?: WaysAsked): FatAudit {
  const boot = readAt(reader, 0, 512);
  const isFat32 = geometry.kind === 'fat32';
  const active = activeFatCopy(boot, geometry);
  const scan = scanFat(reader, geometry, active);
  const ways = asked && auditWays(reader, geometry, asked);
  const walk = new FolderWalker(reader, geometry, new FatTable(reader, geometry, active), ways).walk();
  const label = bootSectorLabel(boot, isFat32);
  return {
    freeClusters: scan.freeClusters,
    label: walk.rootLabel ?? label,
    serial: bootSectorSerial(boot, isFat32),
    files: walk.files,
    folders: walk.folders,
    doubtful: ways?.doubtful ?? [],
    flaws: [
      ...auditFatBoot(reader, boot, geometry, startByte),
      ...auditFsInfo(reader, boot, geometry, scan.freeClusters),
      ...auditTables(scan, walk, geometry),
      ...merged(walk.flaws, ways?.flaws ?? []),
      ...auditRoot(walk, geometry, label),
    ],
  };
}

/**
 * What all names of a volume lead to, as far as a driver at work leaves it alone, and what leads to the files ASKED
 * for. Of the table only what chains lie in is read: a stick of 32 GB has 15 MB of it or more.
 */
export function auditFatNames(reader: SectorReader, geometry: FatGeometry, asked: WaysAsked) {
  const ways = auditWays(reader, geometry, asked);
  const table = new FatTable(reader, geometry, activeFatCopy(readAt(reader, 0, 512), geometry));
  const { flaws } = new FolderWalker(reader, geometry, table, ways).walk();
  const lasting = flaws.filter(({ kind }) => ofMounted.has(kind));
  return { doubtful: ways.doubtful, flaws: merged(lasting, ways.flaws) };
}

const ofMounted: ReadonlySet<Flaw['kind']> = new Set(['cross-linked', 'way-damaged', 'too-much-to-check']);

/** The walk over all folders and the one along the ways may meet the same damage: it is told once. */
function merged(all: readonly Flaw[], ways: readonly Flaw[]): readonly Flaw[] {
  const met = new Set(ways.map(({ kind }) => kind));
  return [...all.filter(({ kind }) => kind !== 'way-damaged' || !met.has(kind)), ...ways];
}

function auditTables(scan: FatScan, walk: FolderWalk, { clusterBytes }: FatGeometry): readonly Flaw[] {
  const found: Flaw[] = [];
  if (scan.differingEntries > 0) found.push(flaw('fat-copies-differ', { entries: scan.differingEntries }));
  if (scan.invalidEntries > 0) found.push(flaw('fat-entries-invalid', { count: scan.invalidEntries }));
  if (scan.badClusters > 0) found.push(flaw('bad-clusters', { count: scan.badClusters }));
  const lost = walk.complete ? scan.used.countWithout(walk.reached) : 0;
  if (lost > 0) found.push(flaw('lost-clusters', { clusters: lost, bytes: lost * clusterBytes }));
  return found;
}

function auditRoot(walk: FolderWalk, geometry: FatGeometry, bootLabel: string | undefined): readonly Flaw[] {
  const found: Flaw[] = [];
  if (walk.rootSlotsFree !== undefined && walk.rootSlotsFree < fewSlots)
    found.push(flaw('root-slots-few', { free: walk.rootSlotsFree, of: geometry.rootSlots }));
  if (bootLabel !== undefined && bootLabel !== walk.rootLabel)
    found.push(flaw('labels-differ', { bootSector: bootLabel, root: walk.rootLabel }));
  return found;
}

interface FatScan {
  readonly freeClusters: number;
  readonly badClusters: number;
  /** Entries that point outside the volume or at the reserved numbers. */
  readonly invalidEntries: number;
  /** Entries in which the copies differ. */
  readonly differingEntries: number;
  /** Clusters in use, by number: neither free nor marked bad. */
  readonly used: BitSet;
}

/** A multiple of 512 and of the three bytes that two FAT12 entries share. */
const stepBytes = 98_304;

/** Reads every copy of the table once, in order, and judges the active one. */
function scanFat(reader: SectorReader, geometry: FatGeometry, activeCopy: number): FatScan {
  const { clusters, fatCopies } = geometry;
  const used = new BitSet(clusters + 2);
  const tally = { free: 0, bad: 0, invalid: 0, differing: 0 };
  const tableBytes = fatBytesFor(geometry.kind, clusters);
  const active = new Uint8Array(stepBytes);
  const other = new Uint8Array(fatCopies > 1 ? stepBytes : 0);
  for (let done = 0; done < tableBytes; done += stepBytes) {
    const bytes = Math.min(stepBytes, tableBytes - done);
    readCopy(reader, geometry, activeCopy, done, active.subarray(0, padded(bytes)));
    const slice = { geometry, bytes, firstEntry: firstEntryAt(geometry, done) };
    classify(active, slice, tally, used);
    if (fatCopies < 2) continue;
    readCopy(reader, geometry, 1 - activeCopy, done, other.subarray(0, padded(bytes)));
    tally.differing += countDifferences(active, other, slice);
  }
  return {
    freeClusters: tally.free,
    badClusters: tally.bad,
    invalidEntries: tally.invalid,
    differingEntries: tally.differing,
    used,
  };
}

interface Slice {
  readonly geometry: FatGeometry;
  readonly bytes: number;
  readonly firstEntry: number;
}

const padded = (bytes: number): number => Math.ceil(bytes / 512) * 512;

const firstEntryAt = ({ kind }: FatGeometry, byte: number): number =>
  kind === 'fat12' ? (byte / 3) * 2 : byte / (kind === 'fat16' ? 2 : 4);

function readCopy(reader: SectorReader, geometry: FatGeometry, copy: number, at: number, into: Uint8Array): void {
  const { reservedSectors, fatSectors, sectorBytes } = geometry;
  const start = (reservedSectors + copy * fatSectors) * sectorBytes + at;
  const there = Math.max(0, Math.min(into.length, reader.sizeBytes - start));
  into.fill(0, there - (there % 512));
  if (there >= 512) reader.readSectors(start / 512, into.subarray(0, there - (there % 512)));
}

/** One loop a kind: this one runs once for each of up to 268 million clusters. */
function classify(
  bytes: Uint8Array,
  { geometry, bytes: length, firstEntry }: Slice,
  tally: { free: number; bad: number; invalid: number },
  used: BitSet,
): void {
  const { kind, clusters } = geometry;
  const last = clusters + 2;
  const values = valuesOf(kind, bytes, length);
  const [badMark, firstEnd] = marks[kind];
  for (let index = 0; index < values.length; index++) {
    const cluster = firstEntry + index;
    if (cluster < 2) continue;
    if (cluster >= last) break;
    const raw = values[index] ?? 0;
    const value = kind === 'fat32' ? raw & 0x0fffffff : raw;
    if (value === 0) tally.free++;
    else if (value === badMark) tally.bad++;
    else {
      used.add(cluster);
      if (value < 2 || (value >= last && value < firstEnd)) tally.invalid++;
    }
  }
}

const marks = {
  fat12: [0xff7, 0xff8],
  fat16: [0xfff7, 0xfff8],
  fat32: [0x0ffffff7, 0x0ffffff8],
} as const;

/** Every computer that this runs on is little-endian, as FAT is; Node has no other builds that are maintained. */
function valuesOf(kind: FatGeometry['kind'], bytes: Uint8Array, length: number): Uint16Array | Uint32Array {
  if (kind === 'fat32') return new Uint32Array(bytes.buffer, bytes.byteOffset, Math.floor(length / 4));
  if (kind === 'fat16') return new Uint16Array(bytes.buffer, bytes.byteOffset, Math.floor(length / 2));
  const values = new Uint16Array(Math.floor((length * 2) / 3));
  for (let entry = 0; entry < values.length; entry++) {
    const at = entry + (entry >> 1);
    const pair = (bytes[at] ?? 0) | ((bytes[at + 1] ?? 0) << 8);
    values[entry] = (entry & 1) === 0 ? pair & 0xfff : pair >> 4;
  }
  return values;
}

function countDifferences(one: Uint8Array, other: Uint8Array, { geometry, bytes, firstEntry }: Slice): number {
  if (areEqual(one, other, bytes)) return 0;
  const last = geometry.clusters + 2;
  const mine = valuesOf(geometry.kind, one, bytes);
  const theirs = valuesOf(geometry.kind, other, bytes);
  let differing = 0;
  for (let index = 0; index < mine.length; index++)
    if (firstEntry + index < last && mine[index] !== theirs[index]) differing++;
  return differing;
}

/** Steps are whole sectors but for the last, whose rest is compared entry by entry. */
function areEqual(one: Uint8Array, other: Uint8Array, bytes: number): boolean {
  if (bytes % 4 !== 0) return false;
  const mine = new Uint32Array(one.buffer, one.byteOffset, bytes / 4);
  const theirs = new Uint32Array(other.buffer, other.byteOffset, bytes / 4);
  for (let index = 0; index < mine.length; index++) if (mine[index] !== theirs[index]) return false;
  return true;
}
