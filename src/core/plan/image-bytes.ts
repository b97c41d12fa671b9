import { clustersFor } from '../volume-format/clusters-for.ts';
import type { WantedTree } from './wanted-tree.ts';

/** The largest cluster that any size of FAT32 takes by the published table. */
const clusterBytes = 32_768;
const mebibyte = 2 ** 20;
/** FAT32 needs 65,525 clusters; at 512 bytes that is 32 MiB, and tables, partition and record come on top. */
const smallestBytes = 64 * mebibyte;

/** A size for an image that holds TREE with its record and a little room, in whole MiB: rather too large than too small. */
export function imageBytesFor({ files, folders }: WantedTree): number {
  const fileClusters = files.reduce((sum, { bytes }) => sum + clustersFor(bytes, clusterBytes), 0);
  const recordClusters = clustersFor(files.length * 600, clusterBytes);
  const bytes = (fileClusters + folders.length + recordClusters) * clusterBytes;
  return Math.max(smallestBytes, Math.ceil((bytes * 1.02) / mebibyte + 8) * mebibyte);
}
