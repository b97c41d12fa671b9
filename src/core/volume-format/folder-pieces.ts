import type { FatGeometry } from './fat-geometry.ts';
import type { FatTable } from './fat-table.ts';
import { readAt, type SectorReader } from './sector-reader.ts';

/** A volume, and the table that says which cluster follows which. */
export interface TabledVolume {
  readonly reader: SectorReader;
  readonly geometry: FatGeometry;
  readonly table: FatTable;
}

/** A folder has at most so many slots of 32 bytes (FAT specification 1.03, section 6). */
const maxFolderBytes = 65_536 * 32;

/**
 * What lies in a folder, piece by piece, each with its place in bytes from the volume's start; START undefined is the
 * root. It ends where the chain does, soundly or not.
 */
export function* folderPieces(
  { reader, geometry, table }: TabledVolume,
  start: number | undefined,
): Iterable<{ readonly at: number; readonly bytes: Uint8Array }> {
  const { rootCluster, rootFirstSector, rootSlots, sectorBytes, clusterBytes, clusters } = geometry;
  if (start === undefined && rootCluster === undefined) {
    const at = rootFirstSector * sectorBytes;
    yield { at, bytes: readAt(reader, at, rootSlots * 32) };
    return;
  }
  let cluster = start ?? rootCluster ?? 0;
  for (
    let count = 0;
    isCluster(geometry, cluster) && count * clusterBytes <= maxFolderBytes && count < clusters;
    count++
  ) {
    const at = placeOf(geometry, cluster);
    yield { at, bytes: readAt(reader, at, clusterBytes) };
    cluster = table.step(cluster);
  }
}

/** Where a cluster's bytes begin, from the volume's start. */
export const placeOf = ({ dataFirstSector, sectorBytes, clusterBytes }: FatGeometry, cluster: number): number =>
  dataFirstSector * sectorBytes + (cluster - 2) * clusterBytes;

/**
 * The first cluster that a slot states: its upper half is FAT32's alone. The four bits that an entry of the table
 * reserves are not reserved here: where one is set, no reader that is known masks it, and every one finds nothing.
 */
export const startOf = ({ kind }: FatGeometry, stated: number): number => (kind === 'fat32' ? stated : stated & 0xffff);

export const isCluster = ({ clusters }: FatGeometry, cluster: number): boolean =>
  cluster >= 2 && cluster < clusters + 2;
