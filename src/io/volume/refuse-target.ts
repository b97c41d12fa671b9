import { posix, win32 } from 'node:path';
import type { DriveFacts, TargetKind } from '../../core/model/stick-facts.ts';

export interface TargetPlace {
  readonly kind: TargetKind;
  /** Absolute and free of links. */
  readonly path: string;
  /** Where the volume that holds a folder is mounted. */
  readonly mountPoint: string | undefined;
  readonly drive: DriveFacts | undefined;
  /** Why the drive behind a raw device is never written as a whole. */
  readonly driveRefusedBecause: string | undefined;
  /** What the drive holds that is in use, in words. */
  readonly holds?: readonly string[] | undefined;
  readonly home: string;
  /** The folder of the running system on Windows; undefined elsewhere, or where Windows does not say. */
  readonly windows?: string | undefined;
  readonly platform: NodeJS.Platform;
}

/** Folders that belong to an operating system, with everything in them. */
const systemTrees: Readonly<Record<'posix' | 'darwin' | 'win32', readonly string[]>> = {
  posix: ['/bin', '/boot', '/dev', '/etc', '/lib', '/lib32', '/lib64', '/proc', '/sbin', '/sys', '/usr'],
  darwin: ['/bin', '/dev', '/sbin', '/usr', '/System', '/Library', '/Applications', '/private/etc', '/private/var/db'],
  win32: ['Windows', 'Program Files', 'Program Files (x86)', 'ProgramData'],
};

/** Memory that looks like a folder; it lies in a system tree and holds nothing of the system. */
const memoryFolder = '/dev/shm';

/**
 * Why nothing is ever written at this place, whatever a person agrees to; undefined where it may be.
 *
 * - An image file may be written.
 * - A raw device may be written where its drive is removable, on the USB bus and holds nothing in use (the system,
 * home, the working
 *   folder, this tool and the Node that runs it, the desk's shelf, families, rounds and keys); a loop device is a file.
 * - A folder on a drive that does not hold the system may be written. On the drive that does, these may not: the root
 *   of a volume (`/`, `/home`, `C:\`), a folder directly below it (`/tmp`, `C:\Users`), a folder of the system with all
 *   that is in it, and the home folder with all that it lies in. Any other folder there is the person's own to offer.
 */
export function refuseTarget(place: TargetPlace): string | undefined {
  switch (place.kind) {
    case 'image':
      return undefined;
    case 'device':
      return place.path.startsWith('/dev/loop') && place.drive?.holdsSystem !== true && (place.holds ?? []).length === 0
        ? undefined
        : (place.driveRefusedBecause ??
            (place.drive === undefined ? 'nothing is known of the drive behind it' : undefined));
    case 'folder':
      return refuseFolder(place);
  }
}

function refuseFolder({ path, mountPoint, drive, home, windows, platform }: TargetPlace): string | undefined {
  const paths = platform === 'win32' ? win32 : posix;
  const fold = (one: string): string => (platform === 'linux' ? one : one.toLowerCase());
  const isInside = (inner: string, outer: string): boolean => {
    const way = paths.relative(fold(outer), fold(inner));
    return way !== '..' && !way.startsWith(`..${paths.sep}`) && !paths.isAbsolute(way);
  };
  const root = paths.parse(path).root;
  const isMemory = isInside(path, memoryFolder) && path !== memoryFolder;
  const isOwnMount = mountPoint !== undefined && mountPoint !== root && drive?.holdsSystem !== true;
  // A drive letter of which nothing is known, because Windows lists no drives, is not the system's if another one is.
  const isOtherLetter = platform === 'win32' && windows !== undefined && !isInside(windows, path);
  const isNotSystem = platform === 'win32' && (drive === undefined ? isOtherLetter : !drive.holdsSystem);
  if (path === root && !isNotSystem) return 'it is the root of the system';
  if (isInside(home, path)) return path === home ? 'it is your home folder' : 'your home folder lies in it';
  const trees = systemTrees[platform === 'win32' || platform === 'darwin' ? platform : 'posix'];
  const inTree = trees.find((tree) => isInside(path, paths.resolve(root, tree)));
  if (inTree !== undefined && !isMemory && drive?.holdsSystem !== false)
    return 'it is a folder of the operating system';
  if (drive !== undefined && !drive.holdsSystem) return undefined;
  if (path === mountPoint && drive?.holdsSystem === true) return 'it is the root of a volume of the system drive';
  const isTopLevel = paths.dirname(path) === root && path !== root;
  return isTopLevel && !isOwnMount ? 'it is a folder directly below the root of the system' : undefined;
}
