import type { BigIntStats } from 'node:fs';
import { readFile, realpath, stat } from 'node:fs/promises';
import { join } from 'node:path';
import type { TargetKind } from '../../core/model/stick-facts.ts';
import type { Mount } from '../drives/drive-source.ts';
import { deviceNumber } from './is-gone.ts';

/**
 * A text that is the same for every way to the same stick: a raw device, a partition of it, a folder on it. Folders of one
 * fixed drive are told apart.
 */
export async function identifyStick(
  kind: TargetKind,
  path: string,
  mount: Mount | undefined,
  removable: boolean,
): Promise<string> {
  const own = await stat(path, { bigint: true });
  if (kind === 'device') return `disk ${await wholeDisk(own.rdev)}`;
  if (kind === 'image') return fileIdentity(own);
  const isWholeVolume = removable || path === mount?.mountPoint;
  if (!isWholeVolume || mount?.device === undefined) return fileIdentity(own);
  const behind = await stat(mount.device, { bigint: true }).catch(() => undefined);
  if (behind === undefined) return fileIdentity(own);
  return behind.isBlockDevice() ? `disk ${await wholeDisk(behind.rdev)}` : fileIdentity(behind);
}

const fileIdentity = ({ dev, ino }: BigIntStats): string => `file ${dev}:${ino}`;

/** Linux: a partition's folder in sysfs lies in its disk's. Elsewhere the device's own number has to do. */
async function wholeDisk(rdev: bigint): Promise<string> {
  const number = deviceNumber(rdev);
  try {
    const folder = await realpath(`/sys/dev/block/${number}`);
    await readFile(join(folder, 'partition'));
    return (await readFile(join(folder, '..', 'dev'), 'utf8')).trim();
  } catch {
    return number;
  }
}
