import { readdir, readFile, realpath } from 'node:fs/promises';
import { basename } from 'node:path';
import { runProgram } from '../programs/run-program.ts';
import type { DriveSource, Mount } from './drive-source.ts';
import { findMount, type LoopFiles, locatePlaces, type MountRow, parseMountInfo } from './linux-mounts.ts';
import { parseLsblk } from './parse-lsblk.ts';

/**
 * Kernel file systems on a block device, for which O_DIRECT goes to the device (open(2)). A program behind FUSE has its
 * own cache.
 */
const direct = new Set(['vfat', 'msdos', 'exfat', 'ntfs3', 'ext2', 'ext3', 'ext4', 'xfs', 'btrfs', 'f2fs']);

export const linuxDrives: DriveSource = {
  async listDrives(inUse) {
    const json = await runProgram('lsblk', ['--json', '--bytes', '--output-all']);
    const drives = parseLsblk(json, locatePlaces(await readMounts(), inUse, await readLoops()));
    return Promise.all(drives.map(async (drive) => ({ ...drive, port: await portOf(drive.device) })));
  },

  async mountOf(path): Promise<Mount | undefined> {
    const row = findMount(await readMounts(), path);
    if (row === undefined) return undefined;
    return {
      mountPoint: row.mountPoint,
      device: row.source.startsWith('/') ? row.source : undefined,
      osType: row.osType,
      readOnly: row.readOnly,
      readsDirect: direct.has(row.osType) && (await reachesMedium(row.source)),
      noatime: row.noatime,
    };
  },
};

/** The kernel's own path of a drive leads through the port it is plugged into. */
const portOf = async (device: string): Promise<string | undefined> =>
  findUsbPort(await realpath(`/sys/block/${basename(device)}`).catch(() => ''));

const readMounts = async (): Promise<readonly MountRow[]> =>
  parseMountInfo(await readFile('/proc/self/mountinfo', 'utf8'));

/** Loop devices may be gone again before they are asked. */
async function readLoops(): Promise<LoopFiles> {
  const names = (await readdir('/sys/block').catch(() => [])).filter((name) => name.startsWith('loop'));
  const files = await Promise.all(
    names.map((name) => readFile(`/sys/block/${name}/loop/backing_file`, 'utf8').catch(() => '')),
  );
  const pairs = names.map((name, at) => [`/dev/${name}`, files[at]?.trimEnd() ?? ''] as const);
  return new Map(pairs.filter(([, file]) => file !== ''));
}

/** A loop device hands reads on to its file's cache, unless it was set up for direct ones (losetup --direct-io). */
export async function reachesMedium(device: string): Promise<boolean> {
  const name = /^loop\d+/.exec(basename(device))?.[0];
  if (name === undefined) return true;
  const flag = await readFile(`/sys/block/${name}/loop/dio`, 'utf8').catch(() => '0');
  return flag.trim() === '1';
}

/**
 * `1-2.3` from `/sys/devices/…/usb1/1-2/1-2.3/1-2.3:1.0/host0/…`: the bus, and the ports on the way, of the interface
 * that is nearest to the drive (Linux Documentation/driver-api/usb/usb.rst and Documentation/ABI/stable/sysfs-bus-usb:
 * BUS-PORT[.PORT]…:CONFIG.INTERFACE).
 */
export const findUsbPort = (sysPath: string): string | undefined =>
  sysPath
    .split('/')
    .map((part) => /^(\d+-\d+(?:\.\d+)*):\d+\.\d+$/.exec(part)?.[1])
    .findLast((port) => port !== undefined);
