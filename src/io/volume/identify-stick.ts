import type { BigIntStats } from 'node:fs';
import { readdir, readFile, realpath, stat } from 'node:fs/promises';
import { join } from 'node:path';
import type { TargetKind } from '../../core/model/stick-facts.ts';
import type { Mount } from '../drives/drive-source.ts';
import { deviceNumber } from './os-error.ts';

/**
 * A text that is the same for every way to the same stick: a raw device, a partition of it, a folder on it, an image
 * file and the loop device that shows it. Folders of one fixed drive are told apart. WHOLE DRIVE is the name that the
 * system gives the drive, for systems where a partition does not lead to it.
 */
export async function identifyStick(
  kind: TargetKind,
  path: string,
  mount: Mount | undefined,
  removable: boolean,
  wholeDrive?: string,
): Promise<string> {
  const isWholeVolume = kind === 'device' || removable || path === mount?.mountPoint;
  if (process.platform !== 'linux' && kind !== 'image' && isWholeVolume && wholeDrive !== undefined)
    return `drive ${wholeDrive.toLowerCase()}`;
  const own = await stat(path, { bigint: true });
  if (kind === 'device') return identifyDevice(own.rdev);
  if (kind === 'image' || !isWholeVolume || mount?.device === undefined) return fileIdentity(own);
  const behind = await stat(mount.device, { bigint: true }).catch(() => undefined);
  if (behind === undefined) return fileIdentity(own);
  return behind.isBlockDevice() ? identifyDevice(behind.rdev) : fileIdentity(behind);
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
