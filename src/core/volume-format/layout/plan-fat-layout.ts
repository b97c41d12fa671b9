import { type FatKind, fat16MinClusters, fat32MinClusters, fatBytesFor } from '../fat-geometry.ts';

/** The one sector size that boot loaders read (U-Boot, fs/fat: it must be that of the device). */
export const layoutSectorBytes = 512;

/** Where everything of a new FAT volume goes; sectors of 512 bytes, counted from the volume's start. */
export interface FatLayout {
  readonly kind: FatKind;
  readonly totalSectors: number;
  /** Sectors before the volume: where its partition starts. */
  readonly hiddenSectors: number;
  readonly clusterSectors: number;
  readonly reservedSectors: number;
  readonly fatSectors: number;
  /** Slots of the fixed root folder; 0 for FAT32. */
  readonly rootSlots: number;
  readonly dataFirstSector: number;
  readonly clusters: number;
}

interface FatWish {
  readonly kind: FatKind;
  readonly totalSectors: number;
  readonly hiddenSectors: number;
  /** Undefined: as the published table has it. */
  readonly clusterBytes?: number | undefined;
}

type LayoutAnswer =
  | { readonly outcome: 'layout'; readonly layout: FatLayout }
  /** PROBLEM ends a sentence that begins with "The volume". */
  | { readonly outcome: 'impossible'; readonly problem: string };

export const fatCopies = 2;
const maxClusterSectors = 128;
const maxTotalSectors = 0xffff_ffff; // BPB_TotSec32
/** The specification advises to stay this many clusters away from where the types change ("FAT Type Determination"). */
const margin = 16;
const limits: Record<FatKind, { readonly least: number; readonly most: number }> = {
  fat12: { least: 1, most: fat16MinClusters - 1 - margin },
  fat16: { least: fat16MinClusters + margin, most: fat32MinClusters - 1 - margin },
  fat32: { least: fat32MinClusters + margin, most: 0x0fff_fff4 },
};
/** From this size on the data starts at a whole MiB, which erase blocks of flash like (common practice, no source). */
const alignedFromSectors = 2 ** 20;
const alignment = 2048;

/** Lays out a FAT volume of exactly `totalSectors`, or says why there is none of that size and cluster. */
export function planFatLayout(wish: FatWish): LayoutAnswer {
  const { kind, clusterBytes } = wish;
  const totalSectors = Math.min(wish.totalSectors, maxTotalSectors);
  if (clusterBytes !== undefined) {
    const clusterSectors = clusterBytes / layoutSectorBytes;
    if (!Number.isInteger(Math.log2(clusterSectors)) || clusterSectors < 1 || clusterSectors > maxClusterSectors)
      return impossible(`cannot have clusters of ${clusterBytes} bytes: 512 to 65,536 and a power of two are possible`);
    return layOut({ ...wish, totalSectors }, clusterSectors);
  }
  const usual = chooseClusterSectors(kind, totalSectors);
  const first = usual === undefined ? undefined : layOut({ ...wish, totalSectors }, usual);
  if (first?.outcome === 'layout') return first;
  // Beside the table's rows there may still be a cluster size with which the type comes out right.
  for (let clusterSectors = 1; clusterSectors <= maxClusterSectors; clusterSectors *= 2) {
    const answer = layOut({ ...wish, totalSectors }, clusterSectors);
    if (answer.outcome === 'layout') return answer;
  }
  return first ?? layOut({ ...wish, totalSectors }, maxClusterSectors);
}

const impossible = (problem: string): LayoutAnswer => ({ outcome: 'impossible', problem });

function layOut({ kind, totalSectors, hiddenSectors }: FatWish, clusterSectors: number): LayoutAnswer {
  const isFat32 = kind === 'fat32';
  const rootSlots = isFat32 ? 0 : 512;
  const rootSectors = (rootSlots * 32) / layoutSectorBytes;
  const leastReserved = isFat32 ? 32 : 1;
  const clustersWith = (reserved: number, fatSectors: number): number =>
    Math.floor((totalSectors - reserved - fatCopies * fatSectors - rootSectors) / clusterSectors);
  const fatSectorsFor = (clusters: number): number =>
    Math.ceil(fatBytesFor(kind, Math.max(1, clusters)) / layoutSectorBytes);

  // Fewer table sectors leave more clusters, which need more table: grow from too small until it fits.
  let fatSectors = fatSectorsFor(clustersWith(leastReserved, fatSectorsFor(clustersWith(leastReserved, 0))));
  while (fatSectorsFor(clustersWith(leastReserved, fatSectors)) > fatSectors) fatSectors++;

  const unit = !isFat32 ? 1 : totalSectors >= alignedFromSectors ? alignment : clusterSectors;
  const beforeData = leastReserved + fatCopies * fatSectors + rootSectors;
  const dataFirstSector = Math.ceil(beforeData / unit) * unit;
  const reservedSectors = leastReserved + dataFirstSector - beforeData;
  const clusters = clustersWith(reservedSectors, fatSectors);
  const { least, most } = limits[kind];
  const name = kind.toUpperCase();
  if (clusters < least)
    return impossible(
      `would have ${Math.max(0, clusters).toLocaleString('en-US')} clusters of ${(clusterSectors * layoutSectorBytes).toLocaleString('en-US')} bytes; ${name} has at least ${least.toLocaleString('en-US')}`,
    );
  if (clusters > most)
    return impossible(
      `would have ${clusters.toLocaleString('en-US')} clusters of ${(clusterSectors * layoutSectorBytes).toLocaleString('en-US')} bytes; ${name} has at most ${most.toLocaleString('en-US')}`,
    );
  return {
    outcome: 'layout',
    layout: {
      kind,
      totalSectors,
      hiddenSectors,
      clusterSectors,
      reservedSectors,
      fatSectors,
      rootSlots,
      dataFirstSector,
      clusters,
    },
  };
}

/** Each row: up to this many sectors of 512 bytes, so many sectors a cluster. */
type Table = readonly (readonly [upToSectors: number, clusterSectors: number])[];

/**
 * Microsoft FAT specification 1.03, DskTableFAT32. Its first row (too small for FAT32) is left to the cluster count.
 */
const fat32Table: Table = [
  [532_480, 1],
  [16_777_216, 8],
  [33_554_432, 16],
  [67_108_864, 32],
  [0xffff_ffff, 64],
];

/** Same specification, DskTableFAT16, without the rows that it forbids. */
const fat16Table: Table = [
  [32_680, 2],
  [262_144, 4],
  [524_288, 8],
  [1_048_576, 16],
  [2_097_152, 32],
  [4_194_304, 64],
];

/**
 * Sectors of 512 bytes a cluster for a volume of SECTORS, as Microsoft's table has it; undefined where it has no row.
 * FAT12 has no table.
 */
function chooseClusterSectors(kind: FatKind, sectors: number): number | undefined {
  if (kind === 'fat12') return undefined;
  const table = kind === 'fat32' ? fat32Table : fat16Table;
  return table.find(([upTo]) => sectors <= upTo)?.[1];
}
