import { ToolError } from '../../core/model/tool-error.ts';
import { type BusDrive, fillFromBus, fromBusAlone, listBusDrives } from './bus-drives.ts';
import type { DriveSource } from './drive-source.ts';
import type { Drive, ListDrives } from './drives.ts';
import { findDriveSource } from './find-source.ts';
import { findPlacesInUse, type PlaceInUse } from './places-in-use.ts';
import { readSectorsOf } from './read-sectors-of.ts';
import { refuseDrive } from './refuse-drive.ts';

/** Where the list comes from; replaced in tests by recorded answers. */
export interface DriveOrigins {
  readonly platform: NodeJS.Platform;
  readonly source: DriveSource | undefined;
  readonly listBusDrives: () => Promise<readonly BusDrive[] | undefined>;
  readonly inUse: readonly PlaceInUse[];
}

/** Everything that is plugged in, sticks first, then by device name; what the system leaves open is read from the sectors where allowed. */
export const listDrives: ListDrives = async (also) =>
  listDrivesFrom({
    platform: process.platform,
    source: await findDriveSource(),
    listBusDrives,
    inUse: await findPlacesInUse(also),
  });

export async function listDrivesFrom(origins: DriveOrigins): Promise<readonly Drive[]> {
  const drives = (await fromSystem(origins)) ?? (await fromBus(origins));
  return drives
    .map(readSectorsOf)
    .toSorted(
      (a, b) => Number(a.refusedBecause !== undefined) - Number(b.refusedBecause !== undefined) || compare(a, b),
    );
}

const compare = (a: Drive, b: Drive): number => a.device.localeCompare(b.device, 'en', { numeric: true });

async function fromSystem(origins: DriveOrigins): Promise<readonly Drive[] | undefined> {
  const drives = await origins.source?.listDrives(origins.inUse).catch(() => undefined);
  const isOpen = (drive: Drive): boolean => drive.usb === undefined || drive.removable === undefined;
  if (drives === undefined || !drives.some(isOpen)) return drives;
  const buses = await origins.listBusDrives();
  return drives.map((drive) => {
    const bus = buses?.find((one) => one.device.toLowerCase() === drive.device.toLowerCase());
    return fillFromBus(drive, bus, origins.platform);
  });
}

async function fromBus(origins: DriveOrigins): Promise<readonly Drive[]> {
  const buses = await origins.listBusDrives();
  if (buses !== undefined) {
    const drives = buses.map((bus) => fromBusAlone(bus, origins.inUse, origins.platform));
    return drives.some(({ holdsSystem }) => holdsSystem) ? drives : drives.map(refuseUnplaced);
  }
  throw new ToolError(
    'drives/unavailable',
    'drives',
    'this computer does not tell what is plugged in, or not in time',
    'Run the same command again; a drive that hangs holds the list up, so pull what is not needed. Or give the stick by its folder or drive letter. On Linux, install util-linux (lsblk).',
  );
}

/** Nobody says which drive the system runs from: it may be any of them. */
const refuseUnplaced = (drive: Drive): Drive => {
  const holds = ['perhaps the running system (nothing tells which drive does)'];
  return { ...drive, holds, refusedBecause: refuseDrive(drive, holds) };
};
