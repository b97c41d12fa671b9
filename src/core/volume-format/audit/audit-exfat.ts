import { readOtherGeometry, serialText } from '../fat-root.ts';
import { readAt, type SectorReader } from '../sector-reader.ts';
import type { FatAudit } from './audit-fat.ts';
import { type Flaw, flaw } from './flaw.ts';

/** exFAT specification 3.1: the boot region has 12 sectors, and its copy follows at once. */
const regionSectors = 12;

interface Exfat {
  readonly sectorBytes: number;
  readonly clusterBytes: number;
  readonly fatAt: number;
  readonly fatBytes: number;
  readonly heapAt: number;
  readonly clusters: number;
  readonly rootCluster: number;
  readonly serial: number;
  readonly flags: number;
  /** Undefined where the volume says that it does not know. */
  readonly percentInUse: number | undefined;
}

/** Boot region, checksum, backup, flags and allocation bitmap; folders below the root are not followed. */
export function auditExfat(reader: SectorReader): FatAudit & { readonly clusters: number | undefined } {
  const boot = readAt(reader, 0, 512);
  const volume = readExfat(boot, reader.sizeBytes);
  if (typeof volume === 'string')
    return { ...nothing, clusters: undefined, flaws: [flaw('exfat-boot-damaged', { problem: volume })] };
  const region = readAt(reader, 0, regionSectors * volume.sectorBytes);
  const root = readRoot(reader, volume);
  const found = [...auditRegion(reader, region, volume), ...auditFlags(volume), ...root.flaws];
  if (root.freeClusters !== undefined && volume.percentInUse !== undefined) {
    const counted = Math.floor(((volume.clusters - root.freeClusters) * 100) / volume.clusters); // 3.1.18
    if (Math.abs(counted - volume.percentInUse) > 1)
      found.push(flaw('exfat-percent-wrong', { stated: volume.percentInUse, counted }));
  }
  return { ...nothing, ...root, clusters: volume.clusters, serial: serialText(volume.serial), flaws: found };
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

/** Section 3.1, field by field within the bounds that each one's own section sets; a text says which is out of them. */
function readExfat(boot: Uint8Array, sizeBytes: number): Exfat | string {
  const geometry = readOtherGeometry('exfat', boot);
  if (geometry === undefined) return 'its sector, cluster or volume size is out of bounds';
  const { sectorBytes, clusterBytes, volumeBytes } = geometry;
  const view = new DataView(boot.buffer, boot.byteOffset, 512);
  // 3.1.3
  if (boot.subarray(11, 64).some((byte) => byte !== 0)) return 'the space of an old parameter block is not empty';
  if (view.getUint16(510, true) !== 0xaa55) return 'its signature is missing';
  if (volumeBytes > sizeBytes) return `it states ${volumeBytes} bytes, but only ${sizeBytes} are there`;
  const fatAt = view.getUint32(80, true) * sectorBytes;
  const fatBytes = view.getUint32(84, true) * sectorBytes;
  const heapAt = view.getUint32(88, true) * sectorBytes;
  const clusters = view.getUint32(92, true);
  const rootCluster = view.getUint32(96, true);
  const copies = view.getUint8(110);
  if (copies < 1 || copies > 2) return `it states ${copies} copies of the allocation table`;
  // 3.1.6
  if (fatAt < 24 * sectorBytes || fatAt + fatBytes * copies > heapAt) return 'its allocation table lies in other areas';
  if (clusters === 0 || heapAt + clusters * clusterBytes > volumeBytes)
    return `it states ${clusters} clusters, more than fit`;
  if ((clusters + 2) * 4 > fatBytes) return 'its allocation table is too small';
  // 3.1.10
  if (rootCluster < 2 || rootCluster > clusters + 1) return `its root folder starts at cluster ${rootCluster}`;
  if (view.getUint8(105) !== 1) return 'it is of an unknown revision'; // 3.1.12
  const percent = view.getUint8(112);
  return {
    sectorBytes,
    clusterBytes,
    fatAt,
    fatBytes,
    heapAt,
    clusters,
    rootCluster,
    serial: view.getUint32(100, true),
    flags: view.getUint16(106, true),
    percentInUse: percent <= 100 ? percent : undefined,
  };
}

/** 3.1.13: flags at 106. */
function auditFlags({ flags }: Exfat): readonly Flaw[] {
  return [...((flags & 2) !== 0 ? [flaw('dirty')] : []), ...((flags & 4) !== 0 ? [flaw('exfat-media-failure')] : [])];
}

/**
 * 3.4: the twelfth sector repeats the checksum of the eleven before it, without flags and percentage, which change in
 * use.
 */
function auditRegion(reader: SectorReader, region: Uint8Array, { sectorBytes }: Exfat): readonly Flaw[] {
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

/** 7.1 (bitmap, 0x81), 7.3 (label, 0x83): found in the root folder, of which a bounded part is read. */
function readRoot(
  reader: SectorReader,
  volume: Exfat,
): { freeClusters: number | undefined; label: string | undefined; flaws: readonly Flaw[] } {
  let freeClusters: number | undefined;
  let label: string | undefined;
  let hasUpcase = false;
  const flaws: Flaw[] = [];
  for (const slots of clustersFrom(reader, volume, volume.rootCluster, 2 ** 20)) {
    const view = new DataView(slots.buffer, slots.byteOffset, slots.byteLength);
    for (let at = 0; at + 32 <= slots.length; at += 32) {
      const type = view.getUint8(at);
      if (type === 0) break;
      if (type === 0x83) label = labelOf(view, at) || undefined;
      if (type === 0x82) hasUpcase = true; // 7.2
      if (type !== 0x81 || freeClusters !== undefined) continue;
      const answer = countFree(reader, volume, view.getUint32(at + 20, true), Number(view.getBigUint64(at + 24, true)));
      if (typeof answer === 'number') freeClusters = answer;
      else flaws.push(flaw('exfat-root-damaged', { problem: answer }));
    }
  }
  if (freeClusters === undefined && flaws.length === 0)
    flaws.push(flaw('exfat-root-damaged', { problem: 'it names no allocation bitmap' }));
  if (!hasUpcase) flaws.push(flaw('exfat-root-damaged', { problem: 'it names no up-case table' }));
  return { freeClusters, label, flaws };
}

/**
 * Free bits among those of the volume's clusters (7.1.5: one bit a cluster, lowest bit first); a text where there is no
 * such count.
 */
function countFree(reader: SectorReader, volume: Exfat, first: number, bytes: number): number | string {
  const needed = Math.ceil(volume.clusters / 8);
  if (bytes < needed) return 'its allocation bitmap is too short';
  let left = volume.clusters;
  let free = 0;
  for (const piece of clustersFrom(reader, volume, first, needed)) {
    for (let at = 0; at < piece.length && left > 0; at++, left -= 8) {
      const byte = (piece[at] ?? 0) | (left < 8 ? (0xff << left) & 0xff : 0);
      for (let bits = ~byte & 0xff; bits !== 0; bits &= bits - 1) free++;
    }
  }
  return left > 0 ? 'its allocation bitmap breaks off' : free;
}

/** Clusters of a chain, at most so many BYTES of them, each in pieces of at most 1 MiB; stops where the chain does. */
function* clustersFrom(reader: SectorReader, volume: Exfat, first: number, bytes: number): Iterable<Uint8Array> {
  const { clusterBytes, clusters, heapAt, fatAt } = volume;
  const step = Math.min(clusterBytes, 2 ** 20);
  let cluster = first;
  for (let left = bytes; left > 0 && cluster >= 2 && cluster < clusters + 2; left -= clusterBytes) {
    const start = heapAt + (cluster - 2) * clusterBytes;
    for (let done = 0; done < Math.min(clusterBytes, left); done += step) yield readAt(reader, start + done, step);
    const at = fatAt + cluster * 4;
    const sector = readAt(reader, at - (at % 512), 512);
    if (sector.length < 512) return;
    cluster = new DataView(sector.buffer, sector.byteOffset, 512).getUint32(at % 512, true);
  }
}

/** 7.3: length in letters at 1, letters from 2. */
function labelOf(view: DataView, at: number): string {
  const length = Math.min(11, view.getUint8(at + 1));
  return String.fromCharCode(...Array.from({ length }, (_, index) => view.getUint16(at + 2 + index * 2, true)));
}
