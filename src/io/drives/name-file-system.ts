import type { FileSystem } from '../../core/model/stick-facts.ts';

const byName: Readonly<Record<string, FileSystem>> = {
  fat12: 'fat12',
  fat16: 'fat16',
  fat32: 'fat32',
  exfat: 'exfat',
  'fuse.exfat': 'exfat',
  ntfs: 'ntfs',
  ntfs3: 'ntfs',
  ext2: 'ext',
  ext3: 'ext',
  ext4: 'ext',
  hfs: 'hfs+',
  hfsplus: 'hfs+',
  apfs: 'apfs',
  iso9660: 'iso9660',
  crypto_luks: 'luks',
  bitlocker: 'bitlocker',
};

/** The words that mean "some FAT" or "some program", and leave open which. */
const vague = new Set(['', 'vfat', 'msdos', 'fat', 'fuse', 'fuseblk', 'raw', 'unknown']);

/**
 * The operating system's word for a file system. `vfat` and `msdos` leave open which FAT it is, so they are `unknown`
 * unless VERSION (`FAT32`, `FAT16`, `FAT12`, as lsblk and diskutil give it) says it.
 */
export function nameFileSystem(osType: string | undefined, version?: string): FileSystem {
  const word = (osType ?? '').toLowerCase();
  const fat = /fat\D?(12|16|32)\b/i.exec(version ?? '') ?? /fat\D?(12|16|32)\b/i.exec(word);
  if (fat !== null && word !== 'exfat') return `fat${fat[1]}` as FileSystem;
  return byName[word] ?? (vague.has(word) ? 'unknown' : 'other');
}
