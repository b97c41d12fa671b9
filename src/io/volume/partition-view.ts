import { deviceSectorBytes, type SectorDevice } from './sector-device.ts';

/** The part of DEVICE that holds one partition; out of its bounds there is nothing. The device stays the caller's to close. */
export function viewPartition(device: SectorDevice, startByte: number, bytes: number): SectorDevice {
  const start = startByte / deviceSectorBytes;
  const place = (first: number, length: number): number => {
    if (first < 0 || first * deviceSectorBytes + length > bytes) {
      throw new RangeError(`sector ${first} lies outside the partition`);
    }
    return start + first;
  };
  return {
    sizeBytes: bytes,
    readOnly: device.readOnly,
    readSectors: (first, into) => device.readSectors(place(first, into.length), into),
    writeSectors: (first, from) => device.writeSectors(place(first, from.length), from),
    room: async (waitingBytes) => device.room?.(waitingBytes),
    flush: () => device.flush(),
    close: async () => {},
  };
}
