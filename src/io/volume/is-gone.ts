import { closeSync, existsSync, openSync, readFileSync, statSync } from 'node:fs';
import { systemWordOf } from '../../core/model/tool-error.ts';

/** Where Linux shows every block device by its number. */
const blockDevices = '/sys/dev/block';

/** UNKNOWN: `unknown-on-windows.ts` says what it means. */
const mayBeThere: ReadonlySet<string> = new Set(['EACCES', 'EPERM', 'EBUSY', 'UNKNOWN']);

/** The kernel's number of a device, `major:minor`, from what stat gives: as glibc encodes it (makedev(3)). */
export function deviceNumber(rdev: bigint): string {
  const major = ((rdev >> 8n) & 0xfffn) | ((rdev >> 32n) & 0xfffff000n);
  const minor = (rdev & 0xffn) | ((rdev >> 12n) & 0xffffff00n);
  return `${major}:${minor}`;
}

/**
 * Whether the device or file at PATH is there no more: its name is gone, the system has forgotten the device, or there
 * is no medium in it (Linux, Documentation/ABI/stable/sysfs-block: `size` is 0 then). Never throws; asked when
 * something failed.
 */
export function isGone(path: string): boolean {
  try {
    // Windows has no stat for a raw drive.
    if (path.startsWith('\\\\.\\')) {
      closeSync(openSync(path, 'r'));
      return false;
    }
    const found = statSync(path, { bigint: true, throwIfNoEntry: false });
    if (found === undefined) return true;
    if (process.platform !== 'linux' || !found.isBlockDevice() || !existsSync(blockDevices)) return false;
    const size = `${blockDevices}/${deviceNumber(found.rdev)}/size`;
    return !existsSync(size) || readFileSync(size, 'utf8').trim() === '0';
  } catch (error) {
    // What cannot even be asked about is a mount whose driver ended; what this account may not look at may be there.
    return !mayBeThere.has(systemWordOf(error) ?? '');
  }
}
