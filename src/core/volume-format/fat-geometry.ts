export type FatKind = 'fat12' | 'fat16' | 'fat32';

/**
 * Where everything lies in a FAT volume. Every number has been bounded against the others; sectors are the volume's
 * own.
 */
export interface FatGeometry {
  readonly kind: FatKind;
  readonly sectorBytes: number;
  readonly clusterBytes: number;
  readonly reservedSectors: number;
  readonly fatCopies: number;
  readonly fatSectors: number;
  /** Slots of the fixed root folder of FAT12 and FAT16; 0 for FAT32, whose root grows. */
  readonly rootSlots: number;
  readonly rootFirstSector: number;
  /** First cluster of the root folder; FAT32 only. */
  readonly rootCluster: number | undefined;
  readonly dataFirstSector: number;
  readonly totalSectors: number;
  /** Data clusters; they are numbered from 2. */
  readonly clusters: number;
  /** Sector numbers; FAT32 only, and only where they lie in the reserved area. */
  readonly fsInfoSector: number | undefined;
  readonly backupBootSector: number | undefined;
}

type FatReading =
  | { readonly outcome: 'fat'; readonly geometry: FatGeometry }
  | { readonly outcome: 'damaged'; readonly problem: string }
  | { readonly outcome: 'not-fat' };

const damaged = (problem: string): FatReading => ({ outcome: 'damaged', problem });

const isPowerOfTwo = (value: number): boolean => value > 0 && (value & (value - 1)) === 0;

/**
 * Fewer clusters than this is FAT12, and fewer than the next is FAT16 (Microsoft FAT specification 1.03, "FAT Type
 * Determination").
 */
export const fat16MinClusters = 4085;
export const fat32MinClusters = 65525;
/** Cluster numbers from 0x0FFFFFF7 on are marks (same specification, "FAT Data Structure"). */
const fat32MaxClusters = 0x0ffffff5;

/** The type is a matter of the cluster count and of nothing else; the text at offset 54 or 82 is not evidence. */
export function fatKindOf(clusters: number): FatKind {
  if (clusters < fat16MinClusters) return 'fat12';
  return clusters < fat32MinClusters ? 'fat16' : 'fat32';
}

/** Bytes of one FAT that holds CLUSTERS, with its two leading entries. */
export function fatBytesFor(kind: FatKind, clusters: number): number {
  const entries = clusters + 2;
  if (kind === 'fat12') return Math.ceil((entries * 3) / 2);
  return entries * (kind === 'fat16' ? 2 : 4);
}

/** Reads a boot sector (the first 512 bytes of a volume); offsets are those of the Microsoft FAT specification 1.03. */
export function readFatGeometry(sector: Uint8Array): FatReading {
  if (sector.length < 512 || sector[510] !== 0x55 || sector[511] !== 0xaa) return { outcome: 'not-fat' };
  if (sector[0] !== 0xeb && sector[0] !== 0xe9 && sector[0] !== 0xe8) return { outcome: 'not-fat' }; // BS_jmpBoot
  const view = new DataView(sector.buffer, sector.byteOffset, 512);
  const sectorBytes = view.getUint16(11, true); // BPB_BytsPerSec
  const sectorsPerCluster = view.getUint8(13); // BPB_SecPerClus
  const fatCopies = view.getUint8(16); // BPB_NumFATs
  const claimsFat = textAt(sector, 54, 3) === 'FAT' || textAt(sector, 82, 5) === 'FAT32';
  const plausible = isPowerOfTwo(sectorBytes) && isPowerOfTwo(sectorsPerCluster) && fatCopies > 0 && fatCopies < 5;
  if (!claimsFat && !plausible) return { outcome: 'not-fat' };

  if (!isPowerOfTwo(sectorBytes) || sectorBytes < 512 || sectorBytes > 4096)
    return damaged(`it states sectors of ${sectorBytes} bytes`);
  if (!isPowerOfTwo(sectorsPerCluster)) return damaged(`it states ${sectorsPerCluster} sectors per cluster`);
  if (fatCopies < 1 || fatCopies > 2) return damaged(`it states ${fatCopies} copies of the allocation table`);
  return layOut(view, sectorBytes, sectorsPerCluster, fatCopies);
}

function layOut(view: DataView, sectorBytes: number, sectorsPerCluster: number, fatCopies: number): FatReading {
  const reservedSectors = view.getUint16(14, true); // BPB_RsvdSecCnt
  const rootSlots = view.getUint16(17, true); // BPB_RootEntCnt
  const totalSectors = view.getUint16(19, true) || view.getUint32(32, true); // BPB_TotSec16, BPB_TotSec32
  const fatSectors16 = view.getUint16(22, true); // BPB_FATSz16
  const fatSectors = fatSectors16 || view.getUint32(36, true); // BPB_FATSz32
  if (reservedSectors === 0) return damaged('it states no reserved sectors');
  if (fatSectors === 0) return damaged('it states an allocation table of no size');
  if ((rootSlots * 32) % sectorBytes !== 0)
    return damaged(`its root folder of ${rootSlots} slots does not fill sectors`);

  const rootSectors = (rootSlots * 32) / sectorBytes;
  const rootFirstSector = reservedSectors + fatCopies * fatSectors;
  const dataFirstSector = rootFirstSector + rootSectors;
  if (totalSectors <= dataFirstSector) return damaged(`its ${totalSectors} sectors leave no space for data`);
  const clusters = Math.floor((totalSectors - dataFirstSector) / sectorsPerCluster);
  if (clusters < 1) return damaged('it has no clusters');
  if (clusters > fat32MaxClusters) return damaged(`it states ${clusters} clusters, more than FAT32 can number`);
  const kind = fatKindOf(clusters);
  if (fatBytesFor(kind, clusters) > fatSectors * sectorBytes)
    return damaged(`its allocation table is too small for ${clusters} clusters`);

  const form = checkForm(view, kind, clusters, rootSlots, fatSectors16);
  if (form !== undefined) return damaged(form);
  const isFat32 = kind === 'fat32';
  const inReserved = (number: number): number | undefined =>
    isFat32 && number > 0 && number < reservedSectors ? number : undefined;
  return {
    outcome: 'fat',
    geometry: {
      kind,
      sectorBytes,
      clusterBytes: sectorBytes * sectorsPerCluster,
      reservedSectors,
      fatCopies,
      fatSectors,
      rootSlots,
      rootFirstSector,
      rootCluster: isFat32 ? view.getUint32(44, true) : undefined, // BPB_RootClus
      dataFirstSector,
      totalSectors,
      clusters,
      fsInfoSector: inReserved(view.getUint16(48, true)), // BPB_FSInfo
      backupBootSector: inReserved(view.getUint16(50, true)), // BPB_BkBootSec
    },
  };
}

/** Readers that go by the form of the boot sector and readers that count clusters must come to the same type. */
function checkForm(
  view: DataView,
  kind: FatKind,
  clusters: number,
  rootSlots: number,
  fatSectors16: number,
): string | undefined {
  const hasFat32Form = fatSectors16 === 0;
  if (hasFat32Form !== (kind === 'fat32'))
    return `it has the form of ${hasFat32Form ? 'FAT32' : 'FAT16'} but ${clusters} clusters, which is ${kind.toUpperCase()}: readers disagree on it`;
  if (kind !== 'fat32') return rootSlots === 0 ? 'it states a root folder of no slots' : undefined;
  if (rootSlots !== 0) return `it states ${rootSlots} fixed root slots, which FAT32 does not have`;
  if (view.getUint16(42, true) !== 0) return 'it states an unknown FAT32 version'; // BPB_FSVer
  const rootCluster = view.getUint32(44, true);
  if (rootCluster < 2 || rootCluster >= clusters + 2)
    return `its root folder starts at cluster ${rootCluster}, outside the volume`;
  return undefined;
}

const textAt = (bytes: Uint8Array, offset: number, length: number): string =>
  String.fromCharCode(...bytes.subarray(offset, offset + length));

/** Clusters that a file of BYTES takes; an empty file takes none (FAT specification, "Directory Structure"). */
export const clustersFor = (bytes: number, clusterBytes: number): number => Math.ceil(bytes / clusterBytes);
