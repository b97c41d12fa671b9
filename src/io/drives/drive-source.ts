import type { DriveFacts, FileSystem } from '../../core/model/stick-facts.ts';
import type { Drive } from './drives.ts';
import type { PlaceInUse } from './places-in-use.ts';

/** Where a folder's bytes lie, as the operating system tells. */
export interface Mount {
  readonly mountPoint: string;
  /** Device path, or the image file behind a user-space file system; undefined where nobody tells. */
  readonly device: string | undefined;
  /** The operating system's own word: `vfat`, `msdos`, `NTFS`, `fuse.exfat`, … */
  readonly osType: string;
  readonly readOnly: boolean;
  /** A read around the cache reaches the medium. */
  readonly readsDirect: boolean;
  /** Told on Linux only: that a file was read is noted nowhere. */
  readonly noatime?: boolean;
}

/**
 * `E:` in a list is `\\.\E:` where its sectors are asked for, in any case of letters; on macOS `/dev/rdisk4` is the way
 * around the cache to `/dev/disk4` (from memory). Elsewhere a device has one name.
 */
export const isSameDevice = (a: string, b: string): boolean => a === b || bareName(a) === bareName(b);

const bareName = (device: string): string =>
  /^(\\\\\.\\|[a-z]:$)/i.test(device)
    ? device.replace(/^\\\\\.\\/, '').toLowerCase()
    : device.replace(/^\/dev\/rdisk/, '/dev/disk');

/** One operating system's way of telling what is plugged in. */
export interface DriveSource {
  /** Rejects where the system does not tell; the caller says so. */
  listDrives(inUse: readonly PlaceInUse[]): Promise<readonly Drive[]>;
  /** PATH is absolute and free of links. */
  mountOf(path: string): Promise<Mount | undefined>;
}

/**
 * Why a drive is never written as a whole; undefined for a removable drive on the USB bus that HOLDS nothing in use.
 * What the system does not tell counts against the drive: the removable flag alone lies both ways (common practice).
 */
export function refuseDrive(drive: DriveFacts, holds: readonly string[] = []): string | undefined {
  if (holds.length > 0) return `it holds ${holds.join(', ')}`;
  if (drive.holdsSystem) return 'it holds the running system';
  if (drive.usb === false) return 'it is not on the USB bus';
  if (drive.usb === undefined) return 'the operating system does not say that it is on the USB bus';
  if (drive.removable === false) return 'it is a fixed drive';
  if (drive.removable === undefined) return 'the operating system does not say that it is removable';
  return drive.bytes === 0 ? 'there is no medium in it' : undefined;
}

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
