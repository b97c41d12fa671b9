import { readDirtyBits } from '../../core/volume-format/fat-state.ts';
import { findFatVolume, viewPartition } from '../volume/fat/find-fat-volume.ts';
import { openFileDevice } from '../volume/file-device.ts';
import { identifyStick } from '../volume/identify-stick.ts';
import { lockStick } from '../volume/lock-stick.ts';
import { lookAtTarget } from '../volume/look-at-target.ts';
import { deviceSectorBytes, type SectorDevice } from '../volume/sector-device.ts';

/**
 * Takes the mark of an unclean pull from the FAT volume in an image file or on a raw device, as a check of the
 * operating system does when it found nothing wrong. Whoever calls has found nothing wrong, and may write there. Holds
 * the lock meanwhile.
 */
export async function settleDirtyMark(target: string): Promise<void> {
  const { kind, path, mount, drive } = await lookAtTarget(target);
  const unlock = await lockStick(await identifyStick(kind, path, mount, drive), target);
  try {
    const device = openFileDevice(path, 'write');
    try {
      await settleOnDevice(device, target);
    } finally {
      await device.close();
    }
  } finally {
    await unlock();
  }
}

/**
 * The state byte's bit 0 of the boot sector (offset 65 in FAT32, 37 before) goes, as Linux and Windows set it;
 * ClnShutBitMask of FAT[1] comes back in every copy of the table (Microsoft FAT specification 1.03, "FAT Data
 * Structure"). What says that a read or a write failed stays.
 */
export async function settleOnDevice(device: SectorDevice, target: string): Promise<void> {
  const { geometry, startByte, bytes } = findFatVolume(device, target);
  const volume = viewPartition(device, startByte, bytes);
  const sectorAt = (byte: number): number => byte / deviceSectorBytes;
  const table = (copy: number): number =>
    sectorAt((geometry.reservedSectors + copy * geometry.fatSectors) * geometry.sectorBytes);
  const boot = readSector(volume, 0);
  const marks = readDirtyBits(geometry, boot, readSector(volume, table(0)));
  if (marks.tableDirty) {
    for (let copy = 0; copy < geometry.fatCopies; copy++) {
      const sector = readSector(volume, table(copy));
      const at = geometry.kind === 'fat32' ? 7 : 3;
      sector[at] = (sector[at] ?? 0) | (geometry.kind === 'fat32' ? 0x08 : 0x80);
      volume.writeSectors(table(copy), sector);
    }
    await volume.flush();
  }
  if (marks.bootSectorDirty) {
    const at = geometry.kind === 'fat32' ? 65 : 37;
    boot[at] = (boot[at] ?? 0) & 0xfe;
    volume.writeSectors(0, boot);
    await volume.flush();
  }
}

function readSector(device: SectorDevice, first: number): Uint8Array {
  const sector = new Uint8Array(deviceSectorBytes);
  device.readSectors(first, sector);
  return sector;
}
