import { realpath } from 'node:fs/promises';
import { homedir } from 'node:os';
import { delimiter, dirname } from 'node:path';
import { fileURLToPath } from 'node:url';
import envPaths from 'env-paths';
import { type Environment, windowsFolder } from '../programs/find-program.ts';

/** Something that a drive must not be erased under. */
export interface PlaceInUse {
  /** Absolute and free of links where it exists. */
  readonly path: string;
  /** Ends a sentence that begins with "It holds". */
  readonly what: string;
  /**
   * The system or the person's home: such a drive is not written in other ways either, but for folders that are the
   * person's to offer.
   */
  readonly isSystem: boolean;
}

/**
 * Folders of the system. Those of live systems are where their stick is mounted, since `/` lies in memory there (Debian
 * live-boot(7), dracut dmsquash-live, archiso; the others from memory); where there is no such folder, its name leads
 * to `/`.
 */
const systemFolders = {
  linux: [
    ...['/', '/boot', '/boot/efi', '/efi', '/usr', '/var', '/home', '/opt', '/nix', '/sysroot'],
    ...[
      '/run/live/medium',
      '/lib/live/mount/medium',
      '/cdrom',
      '/run/initramfs/live',
      '/run/archiso/bootmnt',
      '/isodevice',
    ],
  ],
  darwin: ['/', '/System/Volumes/Data', '/System/Volumes/VM'],
} as const;

/**
 * What this computer and this run need: the system, home, the working folder, the tool, the Node that runs it, and the
 * desk's own shelf, families, rounds and keys. ALSO: what a command was given beyond that. A drive that holds one of
 * them is never erased; as a folder a drive that holds neither system nor home may be written: a person may run the
 * tool from the very stick that carries the next package.
 */
export async function findPlacesInUse(
  also: readonly string[] = [],
  environment: Environment = process.env,
  platform: NodeJS.Platform = process.platform,
): Promise<readonly PlaceInUse[]> {
  const own = envPaths('stickwright', { suffix: '' });
  const listed = (name: string): readonly string[] =>
    (environment[name] ?? '').split(delimiter).filter((path) => path !== '');
  const places: readonly (readonly [string, readonly (string | undefined)[], boolean?])[] = [
    ['the running system', foldersOfSystem(environment, platform), true],
    ['your home folder', [homedir()], true],
    ['the folder you work in', [workingFolder()]],
    ['this tool', [dirname(fileURLToPath(import.meta.url)), process.argv[1]]],
    ['the Node that runs this tool', [process.execPath]],
    ['what the command was given to read', also],
    ['your shelf', [...listed('STICKWRIGHT_SHELF'), own.data]],
    ['your panel families', [...listed('STICKWRIGHT_FAMILIES'), own.config]],
    ['your round', listed('STICKWRIGHT_ROUND')],
    ["your desk's key", listed('STICKWRIGHT_SEAL_KEY')],
    ['keys of desks that you trust', listed('STICKWRIGHT_TRUSTED_SEALS')],
  ];
  return Promise.all(
    places
      .flatMap(([what, paths, isSystem = false]) =>
        paths.flatMap((path) => (path === undefined || path === '' ? [] : [{ path, what, isSystem }])),
      )
      .map(async (place) => ({ ...place, path: await nearestReal(place.path) })),
  );
}

function foldersOfSystem(environment: Environment, platform: NodeJS.Platform): readonly string[] {
  if (platform === 'win32') return [windowsFolder(environment) ?? 'C:\\'];
  return platform === 'darwin' ? systemFolders.darwin : systemFolders.linux;
}

/** A folder that was removed under the process cannot be named. */
function workingFolder(): string | undefined {
  try {
    return process.cwd();
  } catch {
    return undefined;
  }
}

/** What is not made yet lies, once it is, where the folder around it does. */
async function nearestReal(path: string): Promise<string> {
  const real = await realpath(path).catch(() => undefined);
  if (real !== undefined) return real;
  const around = dirname(path);
  return around === path ? path : nearestReal(around);
}
