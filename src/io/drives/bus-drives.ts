import { posix, win32 } from 'node:path';
import type { Drive } from './drives.ts';
import type { PlaceInUse } from './places-in-use.ts';
import { refuseDrive } from './refuse-drive.ts';

/** What drivelist tells of a drive: buses and sizes, on every system, but neither file systems nor serial numbers. */
export interface BusDrive {
  readonly device: string;
  readonly description: string;
  readonly size: number | null;
  readonly isRemovable: boolean;
  readonly isUSB: boolean | null;
  /** The system's own word for the bus, or `UNKNOWN`, or nothing. */
  readonly busType: string | null;
  readonly isSystem: boolean;
  readonly isReadOnly: boolean;
  readonly mountpoints: readonly { readonly path: string; readonly label: string | null }[];
  readonly partitionTableType: 'mbr' | 'gpt' | null;
}

/**
 * Undefined where drivelist is not installed or its native part does not load. Not asked on Linux: there it starts an `lsblk` found along
 * the search path, and knows no more than the one that was asked already.
 */
export async function listBusDrives(): Promise<readonly BusDrive[] | undefined> {
  if (process.platform === 'linux') return undefined;
  try {
    return await (await import('drivelist')).list();
  } catch {
    return undefined;
  }
}

/** Fills in what the system's own list left open. On Linux drivelist's "system" means no more than "not removable". */
export function fillFromBus(drive: Drive, bus: BusDrive | undefined, platform: NodeJS.Platform): Drive {
  if (bus === undefined) return drive;
  const facts = {
    ...drive,
    bytes: drive.bytes ?? bus.size ?? undefined,
    model: drive.model ?? nameOf(bus),
    removable: drive.removable ?? bus.isRemovable,
    usb: drive.usb ?? isOnUsb(bus),
    holdsSystem: drive.holdsSystem || (platform !== 'linux' && bus.isSystem),
    readOnly: drive.readOnly ?? bus.isReadOnly,
  };
  return {
    ...facts,
    refusedBecause: drive.refusedBecause === undefined ? refuseDrive(facts, facts.holds) : reasonStill(drive, facts),
  };
}

/** Where a drive has no name, drivelist describes it by a bus number or not at all. */
const nameOf = ({ description }: BusDrive): string | undefined =>
  description === '' || /^0x[0-9a-f]+$/i.test(description) ? undefined : description;

/** A reason that only came from not knowing is asked again. */
const reasonStill = (before: Drive, now: Drive): string | undefined =>
  before.usb === undefined || before.removable === undefined ? refuseDrive(now, now.holds) : before.refusedBecause;

/** A bus that is not known is not USB: only where the name of the driver and the word for the bus agree is it. */
function isOnUsb({ isUSB, busType }: BusDrive): boolean | undefined {
  if (isUSB === false) return false;
  return isUSB === true && busType?.toUpperCase() === 'USB' ? true : undefined;
}

/** All there is where the system's own list failed: no volume can be named a file system, so none is. */
export function fromBusAlone(bus: BusDrive, inUse: readonly PlaceInUse[], platform: NodeJS.Platform): Drive {
  const here = inUse.filter(({ path }) => bus.mountpoints.some((point) => isBelow(path, point.path, platform)));
  const holds = [...new Set(here.map(({ what }) => what))];
  const facts = {
    device: bus.device,
    maker: undefined,
    model: nameOf(bus),
    serial: undefined,
    bytes: bus.size ?? undefined,
    removable: bus.isRemovable,
    usb: isOnUsb(bus),
    holdsSystem: bus.isSystem || here.some(({ isSystem }) => isSystem),
    readOnly: bus.isReadOnly,
  };
  const volumes = bus.mountpoints.map(({ path, label }) => ({
    device: bus.device,
    mountPoints: [path],
    fileSystem: 'unknown' as const,
    label: label ?? undefined,
    bytes: undefined,
    freeBytes: undefined,
    clusterBytes: undefined,
    sectorBytes: undefined,
    readOnly: bus.isReadOnly,
  }));
  return {
    ...facts,
    port: undefined,
    partitionTable: bus.partitionTableType ?? 'unknown',
    volumes,
    holds,
    refusedBecause: refuseDrive(facts, holds),
  };
}

/** `/` is above everything, and for that very reason says nothing of other volumes; of two that hold a path the list does not say which is nearer. */
function isBelow(path: string, mountPoint: string, platform: NodeJS.Platform): boolean {
  const paths = platform === 'win32' ? win32 : posix;
  const way = paths.relative(mountPoint, path);
  return way !== '..' && !way.startsWith(`..${paths.sep}`) && !paths.isAbsolute(way);
}
