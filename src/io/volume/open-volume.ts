import { readdirSync } from 'node:fs';
import { realpath } from 'node:fs/promises';
import { homedir } from 'node:os';
import { ToolError } from '../../core/model/tool-error.ts';
import { isSameDevice } from '../drives/drive-source.ts';
import type { Drive } from '../drives/drives.ts';
import { windowsFolder } from '../programs/find-program.ts';
import { openFreshDevice } from './direct-device.ts';
import { isWritable, openFileDevice, openFileDeviceAside } from './file-device.ts';
import { FolderVolume } from './folder/folder-volume.ts';
import { countFreeBytes, driveFactsOf, mediumAround, readFolderFacts } from './folder/read-folder-facts.ts';
import { identifyStick } from './identify-stick.ts';
import { isGone } from './is-gone.ts';
import type { Release } from './lock-by-file.ts';
import { lockStick } from './lock-stick.ts';
import { holdUnmounted, lookAtTarget, type SeenTarget } from './look-at-target.ts';
import { errnoOf, stickPulledUnopened, toDeviceError } from './os-error.ts';
import { refuseTarget } from './refuse-target.ts';
import {
  type FileParts,
  type OpenOptions,
  type OpenVolume,
  stickGone,
  type Volume,
  type VolumeReader,
  type VolumeWriter,
} from './volume.ts';

/**
 * Beyond the port's codes: `stick/refused` where nothing may ever be written, `stick/in-use` where another run or a
 * mount holds it. A lock is held until the volume is closed: nothing is changed that another run reads to judge it.
 */
export const openVolume: OpenVolume = async (target, access, options) => {
  const place = await lookAtTarget(target);
  const explain = (error: unknown): unknown => ofStick(error, place.path, target);
  try {
    return await openHeld(place, access, options, explain);
  } catch (error) {
    throw explain(error);
  }
};

async function openHeld(
  place: SeenTarget,
  access: 'read' | 'write',
  options: OpenOptions | undefined,
  explain: (error: unknown) => unknown,
): Promise<Volume> {
  if (access === 'write') await checkMayWrite(place);
  const { target, kind, path, mount, drive } = place;
  const identity = await identifyStick(kind, path, mount, drive);
  const unlock = await lockStick(identity, target, access);
  let letGo: Release | undefined;
  const release = async (): Promise<void> => {
    await letGo?.();
    await unlock();
  };
  try {
    if (access === 'write') letGo = await holdUnmounted(place);
    return onlyToolErrors(await openPlace(place, access, options), explain, release);
  } catch (error) {
    await release();
    throw error;
  }
}

async function checkMayWrite({ target, kind, path, mount, drive, unlisted }: SeenTarget): Promise<void> {
  // Its name stays for a moment when it is pulled, and no list of drives has it any more.
  if (kind === 'device' && isGone(path)) throw stickPulledUnopened(target);
  // Not a drive that may never be written, but one of which nothing was said this time.
  if (kind === 'device' && unlisted !== undefined) throw unlisted;
  const reason = refuseTarget({
    kind,
    path,
    mountPoint: mount?.mountPoint,
    drive,
    driveRefusedBecause: drive?.refusedBecause,
    holds: drive?.holds,
    home: await realpath(homedir()).catch(() => homedir()),
    windows: process.platform === 'win32' ? windowsFolder(process.env) : undefined,
    platform: process.platform,
  });
  if (reason === undefined) return;
  throw new ToolError(
    'stick/refused',
    target,
    `nothing is ever written there: ${reason}`,
    'Give the folder or drive letter of a removable USB stick. `stickwright drives` lists what is plugged in.',
  );
}

async function openPlace(place: SeenTarget, access: 'read' | 'write', options?: OpenOptions): Promise<Volume> {
  const { target, kind, path, mount, drive, unlisted } = place;
  if (kind === 'folder') return openFolder(place, access);
  const { openFatVolume } = await import('./fat/open-fat-volume.ts');
  const device = access === 'read' ? openFileDevice(path, access) : openFileDeviceAside(path);
  const mayBeDirect = kind === 'image' ? mount?.readsDirect === true : await rawReadsDirect(place);
  return openFatVolume({
    device,
    openFresh: () => openFreshDevice(path, device.sizeBytes, mayBeDirect),
    target,
    kind,
    writeProtected: drive?.readOnly === true || !isWritable(path),
    drive: drive === undefined || kind === 'image' ? undefined : driveFactsOf(drive),
    driveUnlisted: unlisted?.message,
    around: drive !== undefined && isPartOf(drive, path) ? await mediumAround(path, drive) : undefined,
    at: options?.at,
  });
}

async function openFolder(
  { target, path, stat: rootStat, mount, drive, unlisted }: SeenTarget,
  access: 'read' | 'write',
): Promise<Volume> {
  // Other sources only look like paths (`//server/share`).
  const device = mount?.device?.startsWith('/dev/') ? mount.device : undefined;
  // Its driver may go on to answer from memory, with an empty folder even.
  if (device !== undefined && isGone(device)) throw stickGone(target);
  if (mount?.mountPoint !== path && isLeftMountPoint(path)) throw nothingMounted(target);
  return new FolderVolume({
    facts: await readFolderFacts({ target, root: path, mount, drive, driveUnlisted: unlisted?.message }),
    root: path,
    rootStat,
    access,
    device,
    readsDirect: mount?.readsDirect === true,
    syncsWhole: process.platform === 'linux' && mount !== undefined && !mount.osType.startsWith('fuse'),
    // Where reading notes the day of access, the driver writes entries again by itself.
    rewritesEntries: hasFatDriver(mount) && (access === 'write' || mount?.noatime === true),
    countFreeBytes: () => countFreeBytes(mount),
  });
}

const hasFatDriver = (mount: SeenTarget['mount']): boolean =>
  process.platform === 'linux' && ['vfat', 'msdos', 'exfat'].includes(mount?.osType ?? '');

/** Where systems and people mount sticks (FHS 3.0, sections 3.11 and 3.12; udisks; macOS). */
const mountFolders = /^\/(media|mnt|Volumes|media\/[^/]+|run\/media\/[^/]+)\/[^/]+$/;

/**
 * An empty folder in such a place is what an ejected stick leaves: nothing was ever prepared there, and nothing should
 * be.
 */
const isLeftMountPoint = (path: string): boolean => mountFolders.test(path) && readdirSync(path).length === 0;

const nothingMounted = (target: string): ToolError =>
  new ToolError(
    'stick/gone',
    target,
    'nothing is mounted there: it is an empty folder of this computer, as an ejected stick leaves it',
    'Plug the stick in, mount it and run the same command again. If you mean this folder, put it somewhere else.',
  );

/** One of the drive's volumes was named, and not the drive. */
const isPartOf = (drive: Drive, path: string): boolean =>
  !isSameDevice(drive.device, path) && drive.volumes.some(({ device }) => isSameDevice(device, path));

async function rawReadsDirect({ path }: SeenTarget): Promise<boolean> {
  if (process.platform !== 'linux') return process.platform === 'win32';
  return (await import('../drives/linux-drives.ts')).reachesMedium(path);
}

/** The error as the stick at PATH has it: what a system call said is a ToolError, and a bug stays what it is. */
function ofStick(error: unknown, path: string, target: string): unknown {
  const errno = errnoOf(error);
  if (errno === undefined) return error;
  return errno === 'ENOENT' && isGone(path) ? stickGone(target) : toDeviceError(error, 'read', target);
}

/**
 * The same volume, out of which nothing comes that a system call said in its own words: each way has its own
 * explanation, and this is the net below all of them. `closed` is called when it is closed, also where closing fails.
 */
function onlyToolErrors(
  volume: Volume,
  explain: (error: unknown) => unknown,
  closed: () => void | Promise<void>,
): Volume {
  const guard = async <Answer>(work: () => Promise<Answer>): Promise<Answer> => {
    try {
      return await work();
    } catch (error) {
      throw explain(error);
    }
  };
  const reader = (inner: VolumeReader): VolumeReader => ({
    readBack: inner.readBack,
    async *chunks() {
      try {
        yield* inner.chunks();
      } catch (error) {
        throw explain(error);
      }
    },
  });
  const parts = (inner: FileParts): FileParts => ({
    read: (buffer, offset, length, position) => guard(() => inner.read(buffer, offset, length, position)),
    close: () => guard(() => inner.close()),
  });
  const writer = (inner: VolumeWriter): VolumeWriter => ({
    write: (chunk) => guard(() => inner.write(chunk)),
    close: () => guard(() => inner.close()),
  });
  return {
    facts: volume.facts,
    entries: (within) => guard(() => volume.entries(within)),
    freeBytes: () => guard(() => volume.freeBytes()),
    makeFolder: (path) => guard(() => volume.makeFolder(path)),
    create: (path, bytes) => guard(async () => writer(await volume.create(path, bytes))),
    open: (path, how) => guard(async () => reader(await volume.open(path, how))),
    openParts: (path) => guard(async () => parts(await volume.openParts(path))),
    rename: (from, to) => guard(() => volume.rename(from, to)),
    removeFile: (path) => guard(() => volume.removeFile(path)),
    removeFolder: (path) => guard(() => volume.removeFolder(path)),
    flush: () => guard(() => volume.flush()),
    settle: () => guard(() => volume.settle()),
    close: () => guard(() => volume.close()).finally(closed),
  };
}
