import { type Finding, finding } from '../../findings/finding.ts';
import type { ArchiveEntry } from '../../model/archive-facts.ts';

/** The size field of a FAT directory entry has 32 bits (Microsoft FAT specification 1.03, DIR_FileSize). */
export const largestFat32FileBytes = 0xffffffff;

/** Files that FAT32 cannot hold: the archive's entries for recovery, the archive itself as one file for in-os. */
export function checkSizesForFat32(files: readonly Pick<ArchiveEntry, 'name' | 'bytes'>[]): readonly Finding[] {
  return files
    .filter(({ bytes }) => bytes > largestFat32FileBytes)
    .map(({ name, bytes }) => finding('archive/file-too-large-for-fat32', name, { bytes }));
}
