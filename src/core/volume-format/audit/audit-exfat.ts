import { serialText } from '../fat-root.ts';
import { readAt, type SectorReader } from '../sector-reader.ts';
import type { FatAudit } from './audit-fat.ts';
import { type ExfatRootEntry, mostLetters, SetReader } from './exfat-sets.ts';
import {
  type Allocation,
  AllocationBitmap,
  type ExfatGeometry,
  ExfatVolume,
  readExfatGeometry,
} from './exfat-volume.ts';
import { type Flaw, flaw } from './flaw.ts';
import { type ExfatWalk, ExfatWalker } from './walk-exfat.ts';
import { type WaysAsked, WayTree } from './way-tree.ts';

/** exFAT specification 3.1: the boot region has 12 sectors, and its copy follows at once. */
const regionSectors = 12;

/** The largest volume that is looked into: as many clusters as FAT32 has at most, 32 MiB for a bit each. */
const mostClusters = 2 ** 28;

/**
 * All of an exFAT volume but its files' content: boot region and its copy, allocation bitmap, up-case table, folders
 * and what they lead to; what leads to the files ASKED for more strictly than the rest. Section numbers are those of
 * Microsoft's exFAT specification.
 */
export function auditExfat(
  reader: SectorReader,
  asked: WaysAsked = { firmware: [], record: [] },
): FatAudit & { readonly clusters: number | undefined } {
  const boot = readAt(reader, 0, 512);
  const geometry = readExfatGeometry(boot, reader.sizeBytes);
  if (typeof geometry === 'string')
    return { ...nothing, clusters: undefined, flaws: [flaw('exfat-boot-damaged', { problem: geometry })] };
  const { clusters, serial, sectorBytes } = geometry;
  const region = readAt(reader, 0, regionSectors * sectorBytes);
  const found = [...auditRegion(reader, region, geometry), ...auditFlags(geometry)];
  const facts = { ...nothing, clusters, serial: serialText(serial) };
  if (clusters > mostClusters) {
    const what = `${clusters.toLocaleString('en-US')} clusters`;
    return { ...facts, flaws: [...found, flaw('too-much-to-check', { what })] };
  }
  const tree = auditTree(new ExfatVolume(reader, geometry), asked);
  return { ...facts, ...tree, flaws: [...found, ...tree.flaws] };
}

const nothing: FatAudit = {
  freeClusters: undefined,
  label: undefined,
  serial: undefined,
  files: undefined,
  folders: undefined,
  doubtful: [],
  flaws: [],
};

/** 3.1.13: flags at 106. */
function auditFlags({ flags }: ExfatGeometry): readonly Flaw[] {
  return [...((flags & 2) !== 0 ? [flaw('dirty')] : []), ...((flags & 4) !== 0 ? [flaw('exfat-media-failure')] : [])];
}

/**
 * 3.4: the twelfth sector repeats the checksum of the eleven before it, without flags and percentage, which change in
 * use.
 */
function auditRegion(reader: SectorReader, region: Uint8Array, { sectorBytes }: ExfatGeometry): readonly Flaw[] {
  const found: Flaw[] = [];
  if (!isSummed(region, sectorBytes)) found.push(flaw('exfat-checksum-wrong'));
  const backup = readAt(reader, regionSectors * sectorBytes, regionSectors * sectorBytes);
  if (!isSummed(backup, sectorBytes))
    found.push(flaw('exfat-backup-differs', { problem: 'does not match its checksum' }));
  else if (region.some((byte, at) => byte !== backup[at] && !isVolatile(at)))
    found.push(flaw('exfat-backup-differs', { problem: 'is not the same as the first' }));
  return found;
}

const isVolatile = (at: number): boolean => at === 106 || at === 107 || at === 112;

function isSummed(region: Uint8Array, sectorBytes: number): boolean {
  const covered = (regionSectors - 1) * sectorBytes;
  if (region.length < covered + sectorBytes) return false;
  let sum = 0;
  for (let at = 0; at < covered; at++) {
    if (!isVolatile(at)) sum = (((sum & 1) !== 0 ? 0x80000000 : 0) + (sum >>> 1) + (region[at] ?? 0)) >>> 0;
  }
  const view = new DataView(region.buffer, region.byteOffset, region.byteLength);
  for (let at = covered; at < covered + sectorBytes; at += 4) if (view.getUint32(at, true) !== sum) return false;
  return true;
}

type Tree = Pick<FatAudit, 'freeClusters' | 'label' | 'files' | 'folders' | 'doubtful' | 'flaws'>;

function auditTree(volume: ExfatVolume, asked: WaysAsked): Tree {
  const root = readRoot(volume);
  const ways = new WayTree(asked);
  const { bitmap, upCase, own, label } = root;
  const walk = new ExfatWalker(volume, { bitmap, upCase }, ways).walk(own);
  const count = bitmap && countBits(volume, bitmap, walk);
  return {
    freeClusters: count?.free,
    label,
    files: walk.files,
    folders: walk.folders,
    doubtful: ways.doubtful,
    flaws: [...root.flaws, ...walk.flaws, ...ways.flaws, ...(count?.flaws ?? [])],
  };
}

/** 3.1.18 (PercentInUse) and 7.1.5: what is in use, and what of it nothing leads to. */
function countBits({ geometry }: ExfatVolume, bitmap: AllocationBitmap, { reached, complete }: ExfatWalk) {
  const { clusters, clusterBytes, percentInUse } = geometry;
  let used = 0;
  let lost = 0;
  for (let index = 0; index < Math.ceil(clusters / 8); index++) {
    for (let byte = bitmap.byte(index), cluster = index * 8 + 2; byte !== 0; byte >>>= 1, cluster++) {
      if ((byte & 1) === 0 || cluster >= clusters + 2) continue;
      used++;
      if (!reached.has(cluster)) lost++;
    }
  }
  const flaws: Flaw[] = [];
  if (complete && lost > 0) flaws.push(flaw('lost-clusters', { clusters: lost, bytes: lost * clusterBytes }));
  const counted = Math.floor((used * 100) / clusters);
  if (percentInUse !== undefined && Math.abs(counted - percentInUse) > 1)
    flaws.push(flaw('exfat-percent-wrong', { stated: percentInUse, counted }));
  return { free: clusters - used, flaws };
}

interface Root {
  readonly bitmap: AllocationBitmap | undefined;
  readonly upCase: (unit: number) => number;
  readonly own: Readonly<Record<string, Allocation>>;
  readonly label: string | undefined;
  readonly flaws: readonly Flaw[];
}

/** Bitmap (7.1), up-case table (7.2) and label (7.3) stand in the root folder, of which a bounded part is read. */
function readRoot(volume: ExfatVolume): Root {
  const { active, rootCluster } = volume.geometry;
  const entries = new SetReader(true, (unit) => unit);
  const own: Record<string, Allocation> = {};
  const seen: { bitmap?: Allocation; upcase?: UpcaseEntry; upcases: number; labels: LabelEntry[] } = {
    upcases: 0,
    labels: [],
  };
  for (const piece of volume.piecesOf({ start: rootCluster, bytes: 2 ** 20, contiguous: false })) {
    for (const entry of entries.read(piece)) {
      if (entry.kind === 'label') seen.labels.push(entry);
      if (entry.kind === 'bitmap') {
        own[`allocation bitmap ${entry.second ? 2 : 1}`] = entry.allocation;
        if (entry.second === (active === 1)) seen.bitmap = entry.allocation;
      }
      if (entry.kind !== 'upcase') continue;
      seen.upcases++;
      own['up-case table'] = entry.allocation;
      seen.upcase = entry;
    }
  }
  const { bitmap, problem } = readBitmap(volume, seen.bitmap);
  const upcase = readUpcase(volume, seen.upcase, seen.upcases);
  const [label, ...labels] = seen.labels;
  const tooLong = seen.labels.find(({ letters }) => letters > mostLetters);
  const flaws = [
    ...(tooLong === undefined
      ? []
      : [flaw('exfat-root-damaged', { problem: `its volume name states ${tooLong.letters} letters` })]),
    ...(labels.length === 0
      ? []
      : [flaw('several-labels', { count: labels.length, paths: labels.slice(0, 12).map((one) => one.label) })]),
    ...(problem === undefined ? [] : [flaw('exfat-root-damaged', { problem })]),
    ...('problem' in upcase ? [flaw('exfat-upcase-damaged', { problem: upcase.problem })] : []),
  ];
  const upCase = 'table' in upcase ? (unit: number) => upcase.table[unit] ?? unit : asciiUpper;
  return { bitmap, upCase, own, label: label?.label || undefined, flaws };
}

function readBitmap(volume: ExfatVolume, allocation: Allocation | undefined) {
  if (allocation === undefined) return { bitmap: undefined, problem: 'it names no allocation bitmap' };
  if (allocation.bytes < Math.ceil(volume.geometry.clusters / 8))
    return { bitmap: undefined, problem: 'its allocation bitmap is too short' };
  const bitmap = new AllocationBitmap(volume, allocation);
  return bitmap.isWhole
    ? { bitmap, problem: undefined }
    : { bitmap: undefined, problem: 'its allocation bitmap breaks off' };
}

type LabelEntry = Extract<ExfatRootEntry, { kind: 'label' }>;
type UpcaseEntry = { readonly checksum: number; readonly allocation: Allocation };

/** All of 65,536 letters of two bytes each; compressed it is shorter. */
const mostUpcaseBytes = 131_072;

const asciiUpper = (unit: number): number => (unit >= 0x61 && unit <= 0x7a ? unit - 0x20 : unit);

/** Sections 7.2.2 (checksum, figure 3) and 7.2.5 (compression, and what the first 128 letters must be). */
function readUpcase(
  volume: ExfatVolume,
  entry: UpcaseEntry | undefined,
  count: number,
): { readonly problem: string } | { readonly table: Uint16Array } {
  if (entry === undefined) return { problem: 'the root folder names none' };
  if (count > 1) return { problem: `the root folder names ${count} of them` };
  const { bytes } = entry.allocation;
  if (bytes === 0 || bytes > mostUpcaseBytes || bytes % 2 !== 0) return { problem: `it is ${bytes} bytes long` };
  const stored = new Uint8Array(Math.ceil(bytes / 2 ** 20) * 2 ** 20);
  let at = 0;
  for (const piece of volume.piecesOf(entry.allocation)) {
    stored.set(piece.subarray(0, Math.max(0, bytes - at)), at);
    at += piece.length;
  }
  if (at < bytes) return { problem: 'it breaks off' };
  let sum = 0;
  for (const byte of stored.subarray(0, bytes)) sum = (((sum & 1) !== 0 ? 0x80000000 : 0) + (sum >>> 1) + byte) >>> 0;
  if (sum !== entry.checksum) return { problem: 'it does not match its checksum' };
  const table = expand(new DataView(stored.buffer, 0, bytes));
  const isMandatory = table.subarray(0, 128).every((upper, unit) => upper === asciiUpper(unit));
  return isMandatory ? { table } : { problem: 'it takes letters of ASCII for others' };
}

/** FFFFh, and how many letters stay as they are. */
function expand(stored: DataView): Uint16Array {
  const table = Uint16Array.from({ length: 65_536 }, (_, unit) => unit);
  let unit = 0;
  for (let at = 0; at + 2 <= stored.byteLength && unit < 65_536; at += 2) {
    const value = stored.getUint16(at, true);
    const isRun = value === 0xffff && at + 4 <= stored.byteLength;
    if (isRun) {
      at += 2;
      unit += stored.getUint16(at, true);
    } else {
      table[unit] = value;
      unit++;
    }
  }
  return table;
}
