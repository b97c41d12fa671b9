import type { BigIntStats } from 'node:fs';
import { readdir, readFile, realpath, stat } from 'node:fs/promises';
import { join } from 'node:path';
import type { Drive } from '../../core/model/drive.ts';
import type { TargetKind } from '../../core/model/stick-facts.ts';
import type { Mount } from '../drives/drive-source.ts';
import { deviceNumber } from './is-gone.ts';
import { letterIn } from './unknown-on-windows.ts';

/**
 * Texts that are the same for every way to the same stick: a raw device, a partition of it, a folder on it, an image
 * file and the loop device that shows it. Folders of one fixed drive are told apart. DRIVE is as the system lists it,
 * for systems where a partition does not lead to it.
 */
export async function identifyStick(
  kind: TargetKind,
  path: string,
  mount: Mount | undefined,
  drive: Pick<Drive, 'device' | 'volumes' | 'removable'> | undefined,
  platform: NodeJS.Platform = process.platform,
): Promise<string | readonly string[]> {
  const isWholeVolume = kind === 'device' || drive?.removable === true || path === mount?.mountPoint;
  if (platform === 'win32' && kind !== 'image') return identifyOnWindows(kind, path, drive, isWholeVolume);
  if (platform !== 'linux' && kind !== 'image' && isWholeVolume && drive !== undefined)
    return `drive ${drive.device.toLowerCase()}`;
  const own = await stat(path, { bigint: true });
  if (kind === 'device') return identifyDevice(own.rdev);
  if (kind === 'image' || !isWholeVolume || mount?.device === undefined) return fileIdentity(own);
  const behind = await stat(mount.device, { bigint: true }).catch(() => undefined);
  if (behind === undefined) return fileIdentity(own);
  return behind.isBlockDevice() ? identifyDevice(behind.rdev) : fileIdentity(behind);
}

/**
 * Windows numbers no devices, and cloned sticks have one serial number, which is all that stat gives of a volume. So it
 * is the drive's name and, since the list of drives may fail in one of two runs, every letter that is concerned too.
 */
async function identifyOnWindows(
  kind: 'folder' | 'device',
  path: string,
  drive: Pick<Drive, 'device' | 'volumes'> | undefined,
  isWholeVolume: boolean,
): Promise<readonly string[]> {
  const letter = letterIn(path);
  if (kind === 'folder' && !isWholeVolume && !/^[a-z]:\\?$/i.test(path))
    return [`${letter ?? ''} ${fileIdentity(await stat(path, { bigint: true }))}`];
  const listed = kind === 'device' ? (drive?.volumes ?? []).map(({ device }) => letterIn(device)) : [];
  const letters = [...new Set([letter, ...listed])].filter((one) => one !== undefined).toSorted();
  return [`drive ${(drive?.device ?? path).toLowerCase()}`, ...letters.map((one) => `letter ${one}`)];
}

const fileIdentity = ({ dev, ino }: BigIntStats): string => `file ${dev}:${ino}`;

/** No device of devices goes deeper. */
const deepest = 8;

/** Linux: down to what holds the bytes. Elsewhere the device's own number has to do. */
async function identifyDevice(rdev: bigint): Promise<string> {
  let number = deviceNumber(rdev);
  for (let depth = 0; depth < deepest; depth++) {
    const folder = await realpath(`/sys/dev/block/${number}`).catch(() => undefined);
    if (folder === undefined) break;
    const shown = await fileBehind(folder);
    if (shown !== undefined) return shown;
    const below = await numberBelow(folder);
    if (below === undefined) break;
    number = below;
  }
  return `disk ${number}`;
}

/** A loop device shows a file (loop(4)); one that is not there under its name any more is known by the device alone. */
async function fileBehind(folder: string): Promise<string | undefined> {
  const name = await readFile(join(folder, 'loop', 'backing_file'), 'utf8').catch(() => '');
  const file = name === '' ? undefined : await stat(name.replace(/\n$/, ''), { bigint: true }).catch(() => undefined);
  if (file?.isBlockDevice() === true) return identifyDevice(file.rdev);
  return file?.isFile() === true ? fileIdentity(file) : undefined;
}

/** The disk that a partition lies in, as its folder in sysfs does; the one device below an encrypted or mapped one. */
async function numberBelow(folder: string): Promise<string | undefined> {
  const read = (path: string): Promise<string | undefined> =>
    readFile(path, 'utf8').then(
      (text) => text.trim(),
      () => undefined,
    );
  if ((await read(join(folder, 'partition'))) !== undefined) return read(join(folder, '..', 'dev'));
  const [only, ...others] = await readdir(join(folder, 'slaves')).catch(() => []);
  return only === undefined || others.length > 0 ? undefined : read(join(folder, 'slaves', only, 'dev'));
}
