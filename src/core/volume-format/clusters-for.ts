/** Clusters that a file of BYTES takes; an empty file takes none (FAT specification, "Directory Structure"). */
export const clustersFor = (bytes: number, clusterBytes: number): number => Math.ceil(bytes / clusterBytes);
