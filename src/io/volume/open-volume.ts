import { realpath } from 'node:fs/promises';
import { homedir } from 'node:os';
import { ToolError } from '../../core/model/tool-error.ts';
import type { Drive } from '../drives/drives.ts';
import { checkNotMounted } from './check-not-mounted.ts';
import { openFreshDevice } from './direct-device.ts';
import { isWritable, openFileDevice, openFileDeviceAside } from './file-device.ts';
import { FolderVolume } from './folder/folder-volume.ts';
import { countFreeBytes, driveFactsOf, mediumAround, readFolderFacts } from './folder/read-folder-facts.ts';
import { identifyStick } from './identify-stick.ts';
import { lockStick } from './lock-stick.ts';
import { lookAtTarget, type Place } from './look-at-target.ts';
import { toStickError } from './os-error.ts';
import { refuseTarget } from './refuse-target.ts';
import type { OpenOptions, OpenVolume, Volume } from './volume.ts';

/**
 * Beyond the port's codes: `stick/refused` where nothing may ever be written, `stick/in-use` where another run or a mount holds
 * it. Opening for writing holds a lock until the volume is closed.
 */
export const openVolume: OpenVolume = async (target, access, options) => {
  const place = await lookAtTarget(target);
  if (access === 'read') return openPlace(place, access);
  await checkMayWrite(place);
  const removable = place.drive?.removable === true;
  const unlock = lockStick(await identifyStick(place.kind, place.path, place.mount, removable), target);
  try {
    await checkNotMounted(place);
    return unlockOnClose(await openPlace(place, access, options), unlock);
  } catch (error) {
    unlock();
    throw error;
  }
};

async function checkMayWrite({ target, kind, path, mount, drive }: Place): Promise<void> {
  const reason = refuseTarget({
    kind,
    path,
    mountPoint: mount?.mountPoint,
    drive,
    driveRefusedBecause: drive?.refusedBecause,
    home: await realpath(homedir()).catch(() => homedir()),
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

async function openPlace(place: Place, access: 'read' | 'write', options?: OpenOptions): Promise<Volume> {
  const { target, kind, path, mount, drive } = place;
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
    around: drive !== undefined && isPartOf(drive, path) ? await mediumAround(path, drive) : undefined,
    at: options?.at,
  });
}

async function openFolder(
  { target, path, stat: rootStat, mount, drive }: Place,
  access: 'read' | 'write',
): Promise<Volume> {
  try {
    return new FolderVolume({
      facts: await readFolderFacts({ target, root: path, mount, drive }),
      root: path,
      rootStat,
      access,
      device: mount?.device,
      readsDirect: mount?.readsDirect === true,
      countFreeBytes: () => countFreeBytes(mount),
    });
  } catch (error) {
    throw toStickError(error, 'read', target);
  }
}

/** One of the drive's volumes was named, and not the drive. */
const isPartOf = (drive: Drive, path: string): boolean =>
  drive.device !== path && drive.volumes.some(({ device }) => device === path);

async function rawReadsDirect({ path }: Place): Promise<boolean> {
  if (process.platform !== 'linux') return process.platform === 'win32';
  return (await import('../drives/linux/linux-drives.ts')).reachesMedium(path);
}

/** The same volume, which lets go of its lock when it is closed, also where closing fails. */
function unlockOnClose(volume: Volume, unlock: () => void): Volume {
  const close = volume.close.bind(volume);
  volume.close = async () => {
    try {
      await close();
    } finally {
      unlock();
    }
  };
  return volume;
}
