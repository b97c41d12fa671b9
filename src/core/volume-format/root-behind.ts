import type { FatGeometry } from './fat-geometry.ts';
import { chainEnds, FatTable } from './fat-table.ts';
import { isCluster, placeOf } from './folder-pieces.ts';
import { readAt, type SectorReader } from './sector-reader.ts';

/** An entry of the second table: where it lies, in bytes from the volume's start, and what it must be. */
export interface TableEntry {
  readonly at: number;
  readonly value: number;
}

/**
 * Entries of the second table on the root's chain that say otherwise than the first, as a cut leaves them while the
 * root grows: only one of the two has its new cluster, and no name is in there that would be lost. Undefined where they
 * differ in any other way: then nobody knows which of the two is right. FAT12 and FAT16 have no such chain.
 */
export function findRootBehind(reader: SectorReader, geometry: FatGeometry): readonly TableEntry[] | undefined {
  const { rootCluster, reservedSectors, fatCopies, fatSectors, sectorBytes, clusterBytes, clusters } = geometry;
  if (rootCluster === undefined || fatCopies < 2) return [];
  const [first, second] = [new FatTable(reader, geometry, 0), new FatTable(reader, geometry, 1)];
  const hasNoName = (cluster: number): boolean =>
    first.step(cluster) === chainEnds.free &&
    readAt(reader, placeOf(geometry, cluster), clusterBytes).every((byte) => byte === 0);
  const start = (reservedSectors + fatSectors) * sectorBytes;
  const behind: TableEntry[] = [];
  let cluster: number = rootCluster;
  for (let steps = 0; isCluster(geometry, cluster) && steps < clusters; steps++) {
    const value = first.value(cluster);
    if (second.value(cluster) !== value) {
      const step = second.step(cluster);
      const isCut = step === chainEnds.end || step === chainEnds.free || (isCluster(geometry, step) && hasNoName(step));
      if (!isCut) return undefined;
      behind.push({ at: start + cluster * 4, value });
    }
    cluster = first.step(cluster);
  }
  return behind;
}
