import type { FatKind } from '../fat-geometry.ts';

/** Each row: up to this many sectors of 512 bytes, so many sectors a cluster. */
type Table = readonly (readonly [upToSectors: number, clusterSectors: number])[];

/** Microsoft FAT specification 1.03, DskTableFAT32. Its first row (too small for FAT32) is left to the cluster count. */
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

/** Sectors of 512 bytes a cluster for a volume of SECTORS, as Microsoft's table has it; undefined where it has no row. FAT12 has no table. */
export function chooseClusterSectors(kind: FatKind, sectors: number): number | undefined {
  if (kind === 'fat12') return undefined;
  const table = kind === 'fat32' ? fat32Table : fat16Table;
  return table.find(([upTo]) => sectors <= upTo)?.[1];
}
