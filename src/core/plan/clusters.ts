/** Whole clusters that a file takes; an empty file takes none (Microsoft FAT specification 1.03, section 6.1). */
export const clustersOf = (bytes: number, clusterBytes: number): number => Math.ceil(bytes / clusterBytes);

/**
 * Directory slots of a name: one for the short name and one for every 13 UTF-16 units of a long one (Linux
 * vfat.rst). Counts a long name for everything that is not plainly 8.3 in upper case, so it never counts too few.
 */
export function slotsOf(name: string): number {
  return /^[A-Z0-9_~!#$%&'()@^{}-]{1,8}(\.[A-Z0-9_~!#$%&'()@^{}-]{1,3})?$/.test(name)
    ? 1
    : 1 + Math.ceil(name.length / 13);
}

/** Bytes of one directory slot (FAT specification, section 6). */
const slotBytes = 32;

/** Clusters of a folder that holds these names; `.` and `..` take two slots. */
export function folderClusters(names: readonly string[], clusterBytes: number): number {
  const slots = names.reduce((sum, name) => sum + slotsOf(name), 2);
  return Math.max(1, clustersOf(slots * slotBytes, clusterBytes));
}
