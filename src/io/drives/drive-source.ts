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
}

/** One operating system's way of telling what is plugged in. */
export interface DriveSource {
  /** Rejects where the system does not tell; the caller says so. */
  listDrives(inUse: readonly PlaceInUse[]): Promise<readonly Drive[]>;
  /** PATH is absolute and free of links. */
  mountOf(path: string): Promise<Mount | undefined>;
}
