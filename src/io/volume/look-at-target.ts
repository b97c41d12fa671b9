import { constants, type Stats } from 'node:fs';
import { open, readdir, readFile, realpath, stat } from 'node:fs/promises';
import type { TargetKind } from '../../core/model/stick-facts.ts';
import { ToolError } from '../../core/model/tool-error.ts';
import { isSameDevice, type Mount } from '../drives/drive-source.ts';
import type { Drive } from '../drives/drives.ts';
import { findDriveSource } from '../drives/find-source.ts';
import { parseMountInfo } from '../drives/linux-mounts.ts';
import { listDrives } from '../drives/list-drives.ts';
import type { Release } from './lock-by-file.ts';
import { errnoOf, toStickError } from './os-error.ts';
import { letterIn } from './unknown-on-windows.ts';

/** A target after looking at it and before opening it. */
export interface SeenTarget {
  readonly target: string;
  readonly kind: TargetKind;
  readonly path: string;
  readonly stat: Stats;
  readonly mount: Mount | undefined;
  readonly drive: Drive | undefined;
  /** Why the drive is not known, where the list of drives failed or did not come in time. */
  readonly unlisted: ToolError | undefined;
}

/** Follows the links of TARGET once, here; later only the path behind them is used. Throws `stick/not-found`. */
export async function lookAtTarget(target: string): Promise<SeenTarget> {
  if (process.platform === 'win32' && isRawOnWindows(target)) throw await refuseRaw(target);
  const { path, stats } = await findTarget(target);
  const kind = kindOf(stats, target);
  const source = await findDriveSource();
  const mount = kind === 'device' ? undefined : await source?.mountOf(path).catch(() => undefined);
  const device = kind === 'device' ? path : kind === 'folder' ? mount?.device : undefined;
  return { target, kind, path, stat: stats, mount, ...(await findDrive(device)) };
}

/**
 * In all its spellings; forward slashes mean the same to Windows. With more behind it, it is the long form of an
 * ordinary path.
 */
export const isRawOnWindows = (target: string): boolean => /^[\\/]{2}[.?][\\/][^\\/]+$/.test(target);

/**
 * Node cannot ask Windows anything about what it opens under such a name (libuv's fstat fails on it), and while a
 * volume is mounted Windows takes no writes to its sectors. By its letter all of it works.
 */
export async function refuseRaw(
  target: string,
  list: () => Promise<readonly Drive[]> = listDrives,
): Promise<ToolError> {
  const name = `\\\\.\\${target.slice(4)}`;
  const own = letterIn(name);
  const drives = own === undefined ? await list().catch(() => []) : [];
  const drive = drives.find(({ device }) => isSameDevice(device, name));
  const letters = own === undefined ? (drive?.volumes ?? []).flatMap(({ device }) => letterIn(device) ?? []) : [own];
  return new ToolError(
    'stick/refused',
    target,
    'on Windows a stick is prepared, verified and ejected by its drive letter, not as a raw drive',
    letters.length > 0
      ? `Give ${letters.map((letter) => `${letter}:`).join(' or ')} instead.`
      : 'Give its letter instead (E:). Where it has none, plug it in again, or give it one in Disk Management; `stickwright drives` shows it.',
  );
}

async function findTarget(target: string): Promise<{ path: string; stats: Stats }> {
  try {
    // Windows names a drive's own root only with the backslash: `E:` means wherever that drive was last.
    const path = await realpath(/^[a-z]:$/i.test(target) ? `${target}\\` : target);
    return { path, stats: await stat(path) };
  } catch (error) {
    if (errnoOf(error) !== 'ENOENT' && errnoOf(error) !== 'ENOTDIR') throw toStickError(error, 'read', target);
    throw new ToolError(
      'stick/not-found',
      target,
      'there is no such folder, image file or device',
      'Look at the spelling, plug the stick in, and ask `stickwright drives` for its place.',
    );
  }
}

function kindOf(stats: Stats, target: string): TargetKind {
  if (stats.isDirectory()) return 'folder';
  if (stats.isFile()) return 'image';
  // macOS shows raw drives as character devices too.
  if (stats.isBlockDevice() || (process.platform === 'darwin' && stats.isCharacterDevice())) return 'device';
  throw new ToolError(
    'stick/not-found',
    target,
    'it is neither a folder, an image file nor a drive',
    'Give the folder where the stick is mounted, its drive letter, an image file or a raw device.',
  );
}

/**
 * The drive that is, or holds, DEVICE. A system that lists no drives leaves that unknown, and reading goes on without.
 */
async function findDrive(device: string | undefined): Promise<Pick<SeenTarget, 'drive' | 'unlisted'>> {
  if (device === undefined) return { drive: undefined, unlisted: undefined };
  const same = (one: string): boolean => isSameDevice(one, device);
  try {
    const drives = await listDrives();
    const drive = drives.find((one) => same(one.device) || one.volumes.some((volume) => same(volume.device)));
    return { drive, unlisted: undefined };
  } catch (error) {
    if (!(error instanceof ToolError)) throw error;
    return { drive: undefined, unlisted: error };
  }
}

/**
 * A volume that the system has mounted must not be written behind its back, nor mounted while it is: resolves to what
 * lets go of it.
 */
export async function holdUnmounted({ target, kind, path }: SeenTarget): Promise<Release> {
  if (process.platform !== 'linux' || kind === 'folder') return async () => {};
  const held = kind === 'device' ? await holdDevice(path) : ((await loopOver(path)) ?? (await mountOver(path)));
  if (typeof held === 'function') return held;
  if (held === undefined && kind !== 'device') return async () => {};
  throw new ToolError(
    'stick/in-use',
    target,
    held ?? 'the system has it mounted, or another program holds it',
    'Unmount it first, or give the folder where it is mounted instead.',
  );
}

/**
 * Keeps Linux from mounting any volume of the block device at PATH until the returned function is called. A desktop
 * mounts by itself what it sees come, also in the middle of a preparation: udev looks at a drive whenever a program
 * that wrote to it closes it. Undefined where it, or a part of it, is mounted or held by another program (open(2):
 * O_EXCL without O_CREAT, and while it is held nobody else can claim a part of it).
 */
export async function holdDevice(path: string): Promise<Release | undefined> {
  try {
    const handle = await open(path, constants.O_RDONLY | constants.O_EXCL);
    return () => handle.close();
  } catch (error) {
    return errnoOf(error) === 'EBUSY' ? undefined : async () => {};
  }
}

/** The loop device that shows this image file as a drive. */
async function loopOver(path: string): Promise<string | undefined> {
  const names = (await readdir('/sys/block').catch(() => [])).filter((name) => name.startsWith('loop'));
  for (const name of names) {
    const file = await readFile(`/sys/block/${name}/loop/backing_file`, 'utf8').catch(() => '');
    if (file.trimEnd() === path) return `it is in use as /dev/${name}`;
  }
  return undefined;
}

/** A program behind FUSE serves this image file as a folder, and names it as its source. */
async function mountOver(path: string): Promise<string | undefined> {
  const rows = parseMountInfo(await readFile('/proc/self/mountinfo', 'utf8'));
  const row = rows.find((one) => one.source === path);
  return row === undefined ? undefined : `it is mounted at ${row.mountPoint}`;
}
