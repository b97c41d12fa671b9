import { closeSync, constants, openSync, readSync } from 'node:fs';
import { endsEarly, openFileDeviceFresh, readAsideFrom } from './file-device.ts';
import { errnoOf, stickFailed, stickReadOnly, toDeviceError } from './os-error.ts';
import {
  allocateAligned,
  deviceSectorBytes,
  directAlignment,
  type FreshDevice,
  type SectorDevice,
} from './sector-device.ts';

const bounceBytes = 2 ** 20;

/**
 * The flag that goes around the operating system's cache: O_DIRECT, or on Windows the one that libuv turns into
 * FILE_FLAG_NO_BUFFERING (libuv include/uv/win.h, UV_FS_O_DIRECT; not exercised on this OS). macOS has none to pass to
 * open.
 */
export const directFlag: number | undefined =
  process.platform === 'win32' ? 0x0200_0000 : (constants as { readonly O_DIRECT?: number }).O_DIRECT;

/**
 * A read-only second way to PATH around the cache where the system lets us (`mayBeDirect`: it lies on a file system
 * or device where that reaches the medium); a plain one otherwise, and its `readBack` says so.
 */
export function openFreshDevice(path: string, sizeBytes: number, mayBeDirect: boolean): FreshDevice {
  return (mayBeDirect ? tryDirect(path, sizeBytes) : undefined) ?? openFileDeviceFresh(path);
}

function tryDirect(path: string, sizeBytes: number): FreshDevice | undefined {
  if (directFlag === undefined) return undefined;
  let fd: number | undefined;
  try {
    fd = openSync(path, constants.O_RDONLY | directFlag);
    readSync(fd, allocateAligned(directAlignment), 0, directAlignment, 0);
    return { device: directDevice(path, fd, sizeBytes), readBack: 'medium', readAside: readAsideFrom(fd, path) };
  } catch (error) {
    if (fd !== undefined) closeSync(fd);
    if (errnoOf(error) === 'EINVAL' || errnoOf(error) === 'ENOTSUP') return undefined;
    throw toDeviceError(error, 'read', path);
  }
}

function directDevice(path: string, fd: number, sizeBytes: number): SectorDevice {
  const bounce = allocateAligned(bounceBytes);
  let open = true;

  function readAligned(offset: number, length: number): Uint8Array {
    const wanted = Math.min(length, sizeBytes - offset);
    try {
      for (let done = 0; done < wanted; ) {
        const got = readSync(fd, bounce, done, length - done, offset + done);
        if (got === 0) throw endsEarly('read', path);
        done += got;
        if (done < wanted && done % directAlignment !== 0) done -= done % directAlignment;
      }
    } catch (error) {
      throw toDeviceError(error, 'read', path);
    }
    return bounce.subarray(0, wanted);
  }

  return {
    sizeBytes,
    readOnly: true,
    readSectors(first, into) {
      const offset = first * deviceSectorBytes;
      if (offset + into.length > sizeBytes) throw stickFailed('read', path, 'a read past the end');
      for (let done = 0; done < into.length; ) {
        const at = offset + done - ((offset + done) % directAlignment);
        const skip = offset + done - at;
        const span = Math.min(bounceBytes, Math.ceil((skip + into.length - done) / directAlignment) * directAlignment);
        const part = readAligned(at, span).subarray(skip, skip + into.length - done);
        into.set(part, done);
        done += part.length;
      }
    },
    writeSectors() {
      throw stickReadOnly(path);
    },
    flush: async () => {},
    async close() {
      if (open) closeSync(fd);
      open = false;
    },
  };
}
