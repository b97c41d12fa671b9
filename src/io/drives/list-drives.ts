import { posix, win32 } from 'node:path';
import { setTimeout as wait } from 'node:timers/promises';
import { ToolError } from '../../core/model/tool-error.ts';
import { reasonOf } from '../programs/run-program.ts';
import { type DriveSource, refuseDrive } from './drive-source.ts';
import type { Drive, ListDrives } from './drives.ts';
import { findDriveSource } from './find-source.ts';
import { findPlacesInUse, type PlaceInUse } from './places-in-use.ts';
import { readSectorsOf } from './read-sectors-of.ts';

/** Where the list comes from; replaced in tests by recorded answers. */
interface DriveOrigins {
  readonly platform: NodeJS.Platform;
  readonly source: DriveSource | undefined;
  readonly listBusDrives: () => Promise<readonly BusDrive[] | undefined>;
  readonly inUse: readonly PlaceInUse[];
}

/**
 * Everything that is plugged in, sticks first, then by device name; what the system leaves open is read from the
 * sectors where allowed. One look at a time, which all share who ask for the same while it has not begun: a look may
 * take long, where many drives answer slowly, and several at once longer still.
 */
export const listDrives: ListDrives = (also = []) =>
  oneAtATime(JSON.stringify(also), async () =>
    listDrivesFrom({
      platform: process.platform,
      source: await findDriveSource(),
      listBusDrives,
      inUse: await findPlacesInUse(also),
    }),
  );

/** Sticks that are opened together ask within so few milliseconds. */
const gatherMs = 5;
const waiting = new Map<string, Promise<readonly Drive[]>>();
let latest: Promise<unknown> = Promise.resolve();

/** Whoever asks never gets what was seen before that. */
function oneAtATime(key: string, look: () => Promise<readonly Drive[]>): Promise<readonly Drive[]> {
  const shared = waiting.get(key);
  if (shared !== undefined) return shared;
  const answer = Promise.all([latest, wait(gatherMs)]).then(() => {
    waiting.delete(key);
    return look();
  });
  waiting.set(key, answer);
  latest = answer.catch(() => {}); // who asked hears of it; the next look is another one
  return answer;
}

export async function listDrivesFrom(origins: DriveOrigins): Promise<readonly Drive[]> {
  const drives = await fromSystem(origins).catch((error: unknown) => fromBus(origins, whyNot(error)));
  return (drives ?? (await fromBus(origins)))
    .map(readSectorsOf)
    .toSorted(
      (a, b) => Number(a.refusedBecause !== undefined) - Number(b.refusedBecause !== undefined) || compare(a, b),
    );
}

const compare = (a: Drive, b: Drive): number => a.device.localeCompare(b.device, 'en', { numeric: true });

async function fromSystem(origins: DriveOrigins): Promise<readonly Drive[] | undefined> {
  const drives = await origins.source?.listDrives(origins.inUse);
  const isOpen = (drive: Drive): boolean => drive.usb === undefined || drive.removable === undefined;
  if (drives === undefined || !drives.some(isOpen)) return drives;
  const buses = await origins.listBusDrives();
  return drives.map((drive) => {
    const bus = buses?.find((one) => one.device.toLowerCase() === drive.device.toLowerCase());
    return fillFromBus(drive, bus, origins.platform);
  });
}

/** In the words of whoever was asked. */
const whyNot = (error: unknown): string => (error instanceof SyntaxError ? 'the list breaks off' : reasonOf(error));

async function fromBus(origins: DriveOrigins, reason?: string): Promise<readonly Drive[]> {
  const buses = await origins.listBusDrives();
  if (buses !== undefined) {
    const drives = buses.map((bus) => fromBusAlone(bus, origins.inUse, origins.platform));
    return drives.some(({ holdsSystem }) => holdsSystem) ? drives : drives.map(refuseUnplaced);
  }
  throw new ToolError(
    'drives/unavailable',
    'drives',
    `this computer does not tell what is plugged in${reason === undefined ? '' : `: ${reason}`}`,
    origins.platform === 'win32' ? unlistedOnWindows : unlistedElsewhere,
  );
}

const unlistedElsewhere =
  'A drive that hangs holds the list up: pull what is not needed, then run the same command again. Or give the stick by its folder or drive letter. On Linux, install util-linux (lsblk).';
const unlistedOnWindows =
  'Give the stick by its drive letter (E:): that works without a list. For the list, Windows PowerShell 5.1 must be there and allowed for this account (it may be slow at its first start: run the same command again); whoever looks after this computer can say why it is not.';

/** Nobody says which drive the system runs from: it may be any of them. */
const refuseUnplaced = (drive: Drive): Drive => {
  const holds = ['perhaps the running system (nothing tells which drive does)'];
  return { ...drive, holds, refusedBecause: refuseDrive(drive, holds) };
};

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
 * Undefined where drivelist is not installed or its native part does not load. Not asked on Linux: there it starts an
 * `lsblk` found along the search path, and knows no more than the one that was asked already.
 */
async function listBusDrives(): Promise<readonly BusDrive[] | undefined> {
  if (process.platform === 'linux') return undefined;
  try {
    return await (await import('drivelist')).list();
  } catch {
    return undefined;
  }
}

/** Fills in what the system's own list left open. On Linux drivelist's "system" means no more than "not removable". */
function fillFromBus(drive: Drive, bus: BusDrive | undefined, platform: NodeJS.Platform): Drive {
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
function fromBusAlone(bus: BusDrive, inUse: readonly PlaceInUse[], platform: NodeJS.Platform): Drive {
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

/**
 * `/` is above everything, and for that very reason says nothing of other volumes; of two that hold a path the list
 * does not say which is nearer.
 */
function isBelow(path: string, mountPoint: string, platform: NodeJS.Platform): boolean {
  const paths = platform === 'win32' ? win32 : posix;
  const way = paths.relative(mountPoint, path);
  return way !== '..' && !way.startsWith(`..${paths.sep}`) && !paths.isAbsolute(way);
}
