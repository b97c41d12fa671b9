import { stat, truncate } from 'node:fs/promises';
import { setImmediate as yieldToLoop } from 'node:timers/promises';
import { errnoOf, stickFailed, toStickError } from '../volume/os-error.ts';
import { deviceSectorBytes, type SectorDevice } from '../volume/sector-device.ts';
import type { StickLayout } from './lay-out-stick.ts';

type StickWrites = Pick<StickLayout, 'clearSectors' | 'writes'>;

const stepBytes = 2 ** 20;
/** Enough for a second GPT and for every file system's mark at a medium's end (common practice, no source). */
const tailBytes = 2 ** 20;

export interface WriteRunning {
  /** Bytes done so far, and how many there are: written, or read back. */
  readonly heard: (doneBytes: number, totalBytes: number) => void;
  readonly signal: AbortSignal;
}

/**
 * Empties an image file without taking space for the zeros. False where its file system has no way to change a file's
 * length, as some that run in user space: it is then cleared as a drive is.
 */
export async function emptyImage(path: string, bytes: number): Promise<boolean> {
  try {
    await truncate(path, 0);
    await truncate(path, bytes);
    return true;
  } catch (error) {
    if (['ENOSYS', 'ENOTSUP', 'EOPNOTSUPP'].includes(errnoOf(error) ?? '') && (await stat(path)).size === bytes)
      return false;
    throw toStickError(error, 'write', path);
  }
}

/**
 * Places, in bytes, that are to be zero. The first sector comes first: a stick that is pulled now has no table that
 * lies.
 */
function placesToClear({ clearSectors }: StickWrites, sizeBytes: number): readonly (readonly [number, number])[] {
  const front = Math.min(clearSectors * deviceSectorBytes, sizeBytes);
  const whole = sizeBytes - (sizeBytes % deviceSectorBytes);
  const tail = Math.max(front, whole - tailBytes);
  return [
    [0, front],
    [tail, whole],
  ];
}

/** Clears, writes, and flushes. IS-ZERO: the medium is known to hold nothing but zeros, as an emptied image does. */
export async function writeStick(
  device: SectorDevice,
  stick: StickWrites,
  { isZero, heard, signal }: WriteRunning & { isZero: boolean },
): Promise<void> {
  const places = isZero ? [] : placesToClear(stick, device.sizeBytes);
  const totalBytes = places.reduce((sum, [from, to]) => sum + to - from, 0);
  const zeros = new Uint8Array(stepBytes);
  let doneBytes = 0;
  for (const [from, to] of places) {
    for (let at = from; at < to; at += stepBytes) {
      signal.throwIfAborted();
      const bytes = Math.min(stepBytes, to - at);
      device.writeSectors(at / deviceSectorBytes, zeros.subarray(0, bytes));
      doneBytes += bytes;
      heard(doneBytes, totalBytes);
      await yieldToLoop();
    }
  }
  for (const { sector, bytes } of stick.writes) device.writeSectors(sector, bytes);
  await device.flush();
}

/**
 * Reads back all that was written, past the cache where the system lets us, and compares. Throws `stick/write-failed`
 * with the place where it differs.
 */
export function readBackStick(
  path: string,
  fresh: SectorDevice,
  stick: StickWrites,
  { heard, signal }: WriteRunning,
): void {
  const places = placesToClear(stick, fresh.sizeBytes);
  const totalBytes = places.reduce((sum, [from, to]) => sum + to - from, 0);
  const written = new Map(stick.writes.map(({ sector, bytes }) => [sector, bytes]));
  const buffer = new Uint8Array(stepBytes);
  let doneBytes = 0;
  for (const [from, to] of places) {
    for (let at = from; at < to; at += stepBytes) {
      signal.throwIfAborted();
      const step = buffer.subarray(0, Math.min(stepBytes, to - at));
      fresh.readSectors(at / deviceSectorBytes, step);
      for (let sector = 0; sector < step.length; sector += deviceSectorBytes) {
        const number = (at + sector) / deviceSectorBytes;
        if (!isAsWritten(step.subarray(sector, sector + deviceSectorBytes), written.get(number)))
          throw stickFailed('write', path, `sector ${number} does not hold what was written to it`);
      }
      doneBytes += step.length;
      heard(doneBytes, totalBytes);
    }
  }
}

const zeroSector = Buffer.alloc(deviceSectorBytes);
const isAsWritten = (read: Uint8Array, wanted: Uint8Array | undefined): boolean =>
  Buffer.compare(read, wanted ?? zeroSector) === 0;
