import type { Stats } from 'node:fs';
import { readdir, realpath, stat } from 'node:fs/promises';
import { homedir } from 'node:os';
import { basename, dirname, join } from 'node:path';
import { ToolError } from '../../core/model/tool-error.ts';
import type { Losses, MediumPlace } from '../../core/report/medium-reports.ts';
import { isSameDevice } from '../drives/drive-source.ts';
import type { Drive } from '../drives/drives.ts';
import { listDrives } from '../drives/list-drives.ts';
import { auditMediumAt } from '../medium/audit-medium-at.ts';
import { openFileDevice } from '../volume/file-device.ts';
import { isGone } from '../volume/is-gone.ts';
import { openVolume } from '../volume/open-volume.ts';
import { errnoOf, stickPulledUnopened, toStickError } from '../volume/os-error.ts';
import { refuseTarget } from '../volume/refuse-target.ts';
import { deviceSectorBytes } from '../volume/sector-device.ts';

/**
 * Looks at TARGET and writes nothing. A drive that holds one of IN USE is refused. Throws ToolError `stick/refused` for
 * a folder, a part of a drive, a drive that is not removable USB or that holds the system; `stick/not-found` where
 * there is nothing and `mayBeNew` is false; `stick/gone`.
 */
export async function findMedium(
  target: string,
  { mayBeNew, inUse }: { mayBeNew: boolean; inUse?: readonly string[] },
): Promise<MediumPlace> {
  const found = await lookAt(target, mayBeNew);
  if (found === 'new') {
    const path = join(await realpath(dirname(target)).catch(() => dirname(target)), basename(target));
    return { target, kind: 'new-image', path, bytes: 0, drive: undefined };
  }
  const { path, stats } = found;
  if (stats?.isFile() === true) return { target, kind: 'image', path, bytes: stats.size, drive: undefined };
  const drives = await listDrives(inUse);
  if (isGone(path)) throw stickPulledUnopened(target);
  if (stats?.isDirectory() === true)
    throw notWhole(
      target,
      drives.find((drive) => isMountedAt(drive, path)),
    );
  const drive = drives.find((one) => isSameDevice(one.device, path) || isSameDevice(one.device, target));
  if (drive === undefined)
    throw notWhole(
      target,
      drives.find((one) => one.volumes.some(({ device }) => isSameDevice(device, path))),
    );
  const reason = refuseTarget({
    kind: 'device',
    path,
    mountPoint: undefined,
    drive,
    driveRefusedBecause: drive.refusedBecause,
    holds: drive.holds,
    home: homedir(),
    platform: process.platform,
  });
  if (reason !== undefined) throw refused(target, reason);
  checkSectorBytes(target, drive.sectorBytes);
  return { target, kind: 'device', path: rawOnMacos(path), bytes: await sizeOf(drive, path), drive };
}

/**
 * U-Boot, fs/fat: the volume's sectors must be the device's. Larger ones are no use at a panel, and what is written in
 * 512 would not be read. Asked before anything is read: Windows reads whole sectors of a raw drive and nothing less.
 */
export function checkSectorBytes(target: string, bytes: number | undefined): void {
  if (bytes === undefined || bytes === deviceSectorBytes) return;
  throw new ToolError(
    'stick/refused',
    target,
    `it has sectors of ${bytes} bytes; boot loaders read sticks with 512`,
    'Take another stick.',
  );
}

/** Windows has no stat for a raw drive. */
interface Found {
  readonly path: string;
  readonly stats: Stats | undefined;
}

async function lookAt(target: string, mayBeNew: boolean): Promise<Found | 'new'> {
  try {
    const raw = rawWindowsDrive(target);
    if (raw !== undefined) return { path: raw, stats: undefined };
    const letter = process.platform === 'win32' ? /^(?:[\\/]{2}[.?][\\/])?([a-z]:)$/i.exec(target)?.[1] : undefined;
    const path = await realpath(letter === undefined ? target : `${letter}\\`);
    return { path, stats: await stat(path) };
  } catch (error) {
    if (errnoOf(error) !== 'ENOENT') throw toStickError(error, 'read', target);
    if (mayBeNew) return 'new';
    throw new ToolError(
      'stick/not-found',
      target,
      'there is no such image file or drive',
      'Ask `stickwright drives` for the drive, or give --size to make a new image file.',
    );
  }
}

/** As Windows' own list spells it, of any way to write it. */
function rawWindowsDrive(target: string): string | undefined {
  const number = /^[\\/]{2}[.?][\\/]PhysicalDrive(\d+)$/i.exec(target)?.[1];
  return number === undefined ? undefined : `\\\\.\\PhysicalDrive${number}`;
}

/** Around macOS' cache, and many times as fast (from memory). */
export const rawOnMacos = (path: string, platform: NodeJS.Platform = process.platform): string =>
  platform === 'darwin' ? path.replace(/^\/dev\/disk/, '/dev/rdisk') : path;

const isMountedAt = (drive: Drive, path: string): boolean =>
  drive.volumes.some(
    ({ mountPoints, device }) => mountPoints.includes(path) || `${device}\\`.toLowerCase() === path.toLowerCase(),
  );

/** What the drive list says is checked against what can really be read. */
async function sizeOf(drive: Drive, path: string): Promise<number> {
  if (drive.bytes !== undefined && drive.bytes > 0) return drive.bytes;
  const device = openFileDevice(path, 'read');
  await device.close();
  return device.sizeBytes;
}

const refused = (target: string, reason: string): ToolError =>
  new ToolError(
    'stick/refused',
    target,
    `nothing is ever erased there: ${reason}`,
    'Give a removable USB stick as a whole, or an image file. `stickwright drives` lists what is plugged in.',
  );

const notWhole = (target: string, drive: Drive | undefined): ToolError =>
  new ToolError(
    'stick/refused',
    target,
    'it is a volume or a folder, not a whole stick',
    drive === undefined
      ? 'Give the stick as a whole. `stickwright drives` lists what is plugged in.'
      : `It lies on ${drive.device}. If that stick is to be erased as a whole, give ${drive.device}.`,
  );

/**
 * What is on a medium before it is erased, as far as it can be read; a medium that cannot be read says so by
 * `readable`.
 */
export async function listLosses({ kind, path, target, drive }: MediumPlace): Promise<Losses> {
  if (kind === 'new-image') return { readable: true, volumes: [], files: 0, names: [] };
  const facts = await auditMediumAt(path).catch(() => undefined);
  const listed = await listNames(target);
  const volumes = (facts?.volumes ?? []).map((volume) => ({
    fileSystem: volume.fileSystem,
    label: volume.label,
    bytes: volume.bytes,
    usedBytes:
      volume.clusters !== undefined && volume.freeClusters !== undefined && volume.clusterBytes !== undefined
        ? (volume.clusters - volume.freeClusters) * volume.clusterBytes
        : undefined,
  }));
  const mounted = await namesAt((drive?.volumes ?? []).flatMap((volume) => volume.mountPoints));
  const files = listed?.files ?? facts?.volumes.find((volume) => volume.files !== undefined)?.files;
  return { readable: facts !== undefined, volumes, files, names: [...new Set([...(listed?.names ?? []), ...mounted])] };
}

/** Names at the root of the first FAT volume. */
async function listNames(target: string): Promise<{ files: number; names: readonly string[] } | undefined> {
  try {
    const volume = await openVolume(target, 'read');
    try {
      const entries = await volume.entries();
      const names = entries
        .filter((entry) => !entry.path.includes('/'))
        .map(({ path, kind }) => (kind === 'folder' ? `${path}/` : path));
      return { files: entries.filter((entry) => entry.kind === 'file').length, names };
    } finally {
      await volume.close();
    }
  } catch {
    return undefined; // not FAT, or damaged: the volumes are named all the same
  }
}

async function namesAt(folders: readonly string[]): Promise<readonly string[]> {
  const lists = await Promise.all(folders.map((folder) => readdir(folder).catch(() => [])));
  return lists.flat();
}
