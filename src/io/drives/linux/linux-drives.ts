import { readFile, realpath } from 'node:fs/promises';
import { homedir } from 'node:os';
import { basename } from 'node:path';
import { runProgram } from '../../programs/run-program.ts';
import type { DriveSource, Mount } from '../drive-source.ts';
import { findUsbPort } from './find-usb-port.ts';
import { parseLsblk, type SystemPlaces } from './parse-lsblk.ts';
import { findMount, type MountRow, parseMountInfo } from './parse-mountinfo.ts';

/** Kernel file systems on a block device, for which O_DIRECT goes to the device (open(2)). A program behind FUSE has its own cache. */
const direct = new Set(['vfat', 'msdos', 'exfat', 'ntfs3', 'ext2', 'ext3', 'ext4', 'xfs', 'btrfs', 'f2fs']);

const systemFolders = ['/', '/boot', '/boot/efi', '/usr', '/var', '/home'];

export const linuxDrives: DriveSource = {
  async listDrives() {
    const json = await runProgram('lsblk', ['--json', '--bytes', '--output-all']);
    const drives = parseLsblk(json, await findSystemPlaces());
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
    };
  },
};

/** The kernel's own path of a drive leads through the port it is plugged into. */
const portOf = async (device: string): Promise<string | undefined> =>
  findUsbPort(await realpath(`/sys/block/${basename(device)}`).catch(() => ''));

const readMounts = async (): Promise<readonly MountRow[]> =>
  parseMountInfo(await readFile('/proc/self/mountinfo', 'utf8'));

/** The devices under the system's folders, the home folder and the working folder. */
async function findSystemPlaces(): Promise<SystemPlaces> {
  const rows = await readMounts();
  const homes = await Promise.all([homedir(), process.cwd()].map((path) => realpath(path).catch(() => path)));
  const mounts = [...systemFolders, ...homes].flatMap((path) => findMount(rows, path) ?? []);
  return {
    deviceNumbers: new Set(mounts.map((row) => row.deviceNumber)),
    mountPoints: new Set(mounts.map((row) => row.mountPoint)),
  };
}

/** A loop device hands reads on to its file's cache, unless it was set up for direct ones (losetup --direct-io). */
export async function reachesMedium(device: string): Promise<boolean> {
  const name = /^loop\d+/.exec(basename(device))?.[0];
  if (name === undefined) return true;
  const flag = await readFile(`/sys/block/${name}/loop/dio`, 'utf8').catch(() => '0');
  return flag.trim() === '1';
}
