import {
  accessSync,
  closeSync,
  constants,
  fstatSync,
  fsync,
  openSync,
  read,
  readSync,
  statSync,
  write,
  writeSync,
} from 'node:fs';
import { promisify } from 'node:util';
import { isGone } from './is-gone.ts';
import { errnoOf, stickFailed, stickGoneReadOnly, stickReadOnly, toDeviceError } from './os-error.ts';
import { deviceSectorBytes, directAlignment, type FreshDevice, type SectorDevice } from './sector-device.ts';
import { stickGone } from './volume.ts';
import { WriteBehind } from './write-behind.ts';

const [fsyncFile, readFile, writeFile] = [promisify(fsync), promisify(read), promisify(write)];

/** An image file or a block device through the operating system's cache. */
export const openFileDevice = (path: string, access: 'read' | 'write'): SectorDevice =>
  fileDevice(openPath(path, access), path, access);

/** As `openFileDevice` for writing, and what is written is carried out by another thread. */
export function openFileDeviceAside(path: string): SectorDevice {
  const fd = openPath(path, 'write');
  const device = fileDevice(fd, path, 'write');
  return new WriteBehind(device, async (first, from) => {
    checkWithin(device, first, from, path);
    try {
      for (let done = 0; done < from.length; ) {
        const { bytesWritten } = await writeFile(fd, from, done, from.length - done, first * deviceSectorBytes + done);
        if (bytesWritten === 0) throw endsEarly('write', path);
        done += bytesWritten;
      }
    } catch (error) {
      throw toTransferError(error, 'write', path);
    }
  });
}

/** Linux refuses a write with EPERM where the drive says, after it was opened, that it takes none (block/fops.c). */
function toTransferError(error: unknown, doing: 'read' | 'write', path: string): Error {
  const errno = errnoOf(error);
  const isRefused = doing === 'write' && (errno === 'EPERM' || errno === 'EROFS') && !isGone(path);
  return isRefused ? stickGoneReadOnly(path, errno, error) : toDeviceError(error, doing, path);
}

/** As `openFileDevice` for reading, with a second way that nobody waits at. */
export function openFileDeviceFresh(path: string): FreshDevice {
  const fd = openPath(path, 'read');
  return { device: fileDevice(fd, path, 'read'), readBack: 'cache', readAside: readAsideFrom(fd, path) };
}

/**
 * As `FreshDevice` has it. A direct read goes on only from an aligned place: anything else is the end of the medium.
 */
export const readAsideFrom =
  (fd: number, path: string): NonNullable<FreshDevice['readAside']> =>
  async (at, into, least) => {
    let done = 0;
    try {
      while (done < into.length) {
        const { bytesRead } = await readFile(fd, into, done, into.length - done, at + done);
        done += bytesRead;
        if (bytesRead === 0 || done % directAlignment !== 0) break;
      }
      if (done < least) throw endsEarly('read', path);
    } catch (error) {
      throw toDeviceError(error, 'read', path);
    }
    return done;
  };

function openPath(path: string, access: 'read' | 'write'): number {
  try {
    return openSync(path, access === 'write' ? 'r+' : 'r');
  } catch (error) {
    throw toDeviceError(error, access, path);
  }
}

/** An image file would grow; a stick does not. */
function checkWithin({ sizeBytes }: SectorDevice, first: number, from: Uint8Array, path: string): void {
  if (first * deviceSectorBytes + from.length > sizeBytes) throw stickFailed('write', path, 'a write past the end');
}

/** A drive without its medium has the size 0: what lies on it is not damaged, but gone. */
export const endsEarly = (doing: 'read' | 'write', path: string): Error =>
  isGone(path) ? stickGone(path) : stickFailed(doing, path, 'the medium ends before its stated size');

function fileDevice(fd: number, path: string, access: 'read' | 'write'): SectorDevice {
  const sizeBytes = sizeOf(fd, path);
  let open = true;
  return {
    sizeBytes,
    readOnly: access === 'read',
    readSectors(first, into) {
      transfer(path, 'read', into.length, (done) =>
        readSync(fd, into, done, into.length - done, first * deviceSectorBytes + done),
      );
    },
    writeSectors(first, from) {
      if (access === 'read') throw stickReadOnly(path);
      checkWithin(this, first, from, path);
      transfer(path, 'write', from.length, (done) =>
        writeSync(fd, from, done, from.length - done, first * deviceSectorBytes + done),
      );
    },
    async flush() {
      try {
        await fsyncFile(fd);
        // An open file outlives its name: what was written to it then is nowhere.
        if (!isStillThere(path, fd)) throw stickGone(path);
      } catch (error) {
        // What others wrote is brought to the medium too, where the system lets a reader ask for that.
        if (access === 'read' && ['EBADF', 'EINVAL', 'EPERM', 'EACCES'].includes(errnoOf(error) ?? '')) return;
        throw toDeviceError(error, 'write', path);
      }
    },
    async close() {
      if (!open) return;
      open = false;
      try {
        closeSync(fd);
      } catch (error) {
        throw toDeviceError(error, access, path);
      }
    },
  };
}

function isStillThere(path: string, fd: number): boolean {
  if (isRawWindowsDrive(path)) return !isGone(path); // libuv has no stat for one
  const [named, held] = [statSync(path, { throwIfNoEntry: false }), fstatSync(fd)];
  return named !== undefined && named.dev === held.dev && named.ino === held.ino;
}

/** Repeats STEP until LENGTH bytes are done: the system may do less at a time than it was asked for. */
function transfer(path: string, doing: 'read' | 'write', length: number, step: (done: number) => number): void {
  try {
    for (let done = 0; done < length; ) {
      const moved = step(done);
      if (moved === 0) throw endsEarly(doing, path);
      done += moved;
    }
  } catch (error) {
    throw toTransferError(error, doing, path);
  }
}

const isRawWindowsDrive = (path: string): boolean => path.startsWith('\\\\.\\');

/** A block device has no size in its stat: the last byte that can be read is searched for. */
function sizeOf(fd: number, path: string): number {
  // libuv's fstat fails on a raw drive of Windows; only what can be read of it tells its size.
  const stat = isRawWindowsDrive(path) ? undefined : fstatSync(fd);
  if (stat?.isFile() === true) return stat.size;
  const probe = new Uint8Array(deviceSectorBytes);
  const readable = (sector: number): boolean => {
    try {
      return readSync(fd, probe, 0, deviceSectorBytes, sector * deviceSectorBytes) === deviceSectorBytes;
    } catch {
      return false;
    }
  };
  if (isGone(path)) throw stickGone(path);
  if (!readable(0)) throw stickFailed('read', path, 'its first sector cannot be read');
  let low = 0;
  let high = 1;
  while (high < 2 ** 43 && readable(high)) [low, high] = [high, high * 2];
  while (high - low > 1) {
    const middle = Math.floor((low + high) / 2);
    if (readable(middle)) low = middle;
    else high = middle;
  }
  if (isGone(path)) throw stickGone(path); // while it was measured
  return high * deviceSectorBytes;
}

/** Whether PATH may be written at all; a switch on the drive only shows when it is tried. */
export function isWritable(path: string): boolean {
  try {
    accessSync(path, constants.W_OK);
    return true;
  } catch {
    return false;
  }
}
