import type { FileSystem } from '../model/stick-facts.ts';

/** What the slots of a root folder tell without reading any file. */
interface RootSlots {
  readonly slotsFree: number;
  readonly label: string | undefined;
}

/**
 * Reads directory slots of 32 bytes (FAT specification, section 6): first byte 0x00 ends the folder and everything
 * behind it is free, 0xE5 is a free slot; the attribute byte at 11 with only the volume bit (0x08) of 0x3F is the
 * label.
 */
export function readRootSlots(slots: Uint8Array): RootSlots {
  let slotsFree = 0;
  let label: string | undefined;
  for (let at = 0; at + 32 <= slots.length; at += 32) {
    if (slots[at] === 0) return { slotsFree: slotsFree + Math.floor((slots.length - at) / 32), label };
    if (slots[at] === 0xe5) slotsFree++;
    else if (label === undefined && ((slots[at + 11] ?? 0) & 0x3f) === 0x08)
      label = labelText(slots.subarray(at, at + 11));
  }
  return { slotsFree, label };
}

/** The label in a boot sector; `NO NAME` means that there is none (FAT specification, BS_VolLab at 43 or 71). */
export function bootSectorLabel(sector: Uint8Array, isFat32: boolean): string | undefined {
  const at = isFat32 ? 71 : 43;
  if (!hasExtendedFields(sector, isFat32)) return undefined;
  const text = labelText(sector.subarray(at, at + 11));
  return text === 'NO NAME' ? undefined : text;
}

/** BS_VolID at 39 or 67, as `1234-ABCD`. */
export function bootSectorSerial(sector: Uint8Array, isFat32: boolean): string | undefined {
  if (!hasExtendedFields(sector, isFat32)) return undefined;
  return serialText(new DataView(sector.buffer, sector.byteOffset).getUint32(isFat32 ? 67 : 39, true));
}

export function serialText(serial: number): string {
  const hex = serial.toString(16).toUpperCase().padStart(8, '0');
  return `${hex.slice(0, 4)}-${hex.slice(4)}`;
}

/** BS_BootSig at 38 or 66: 0x29 says that serial, label and type text follow. */
const hasExtendedFields = (sector: Uint8Array, isFat32: boolean): boolean => sector[isFat32 ? 66 : 38] === 0x29;

/** Labels are stored in the writer's code page, which nobody records; only ASCII is certain. */
function labelText(bytes: Uint8Array): string | undefined {
  const text = [...bytes].map((byte) => (byte >= 0x20 && byte < 0x7f ? String.fromCharCode(byte) : '\ufffd')).join('');
  return text.trimEnd() || undefined;
}

/** What an exFAT or NTFS boot sector says of its volume. */
interface VolumeGeometry {
  readonly sectorBytes: number;
  readonly clusterBytes: number;
  readonly volumeBytes: number;
  readonly serial: string | undefined;
  readonly dirty: boolean | undefined;
}

/** Undefined for other file systems, and where a number is out of the bounds that its specification sets. */
export function readOtherGeometry(fileSystem: FileSystem, sector: Uint8Array): VolumeGeometry | undefined {
  if (sector.length < 512) return undefined;
  const view = new DataView(sector.buffer, sector.byteOffset, 512);
  if (fileSystem === 'exfat') return readExfat(view);
  return fileSystem === 'ntfs' ? readNtfs(view) : undefined;
}

/** exFAT specification 3.1: length at 72, serial at 100, flags at 106, shifts at 108 and 109. */
function readExfat(view: DataView): VolumeGeometry | undefined {
  const sectorShift = view.getUint8(108);
  const clusterShift = view.getUint8(109);
  const sectors = view.getBigUint64(72, true);
  if (sectorShift < 9 || sectorShift > 12 || clusterShift > 25 - sectorShift) return undefined;
  const volumeBytes = Number(sectors << BigInt(sectorShift));
  if (sectors === 0n || !Number.isSafeInteger(volumeBytes)) return undefined;
  return {
    sectorBytes: 2 ** sectorShift,
    clusterBytes: 2 ** (sectorShift + clusterShift),
    volumeBytes,
    serial: serialText(view.getUint32(100, true)),
    dirty: (view.getUint16(106, true) & 2) !== 0, // VolumeDirty, 3.1.13.2
  };
}

/**
 * Common practice (Linux fs/ntfs3/ntfs.h, struct NTFS_BOOT): sector size at 11, cluster at 13, sectors at 40, serial at
 * 72.
 */
function readNtfs(view: DataView): VolumeGeometry | undefined {
  const sectorBytes = view.getUint16(11, true);
  const stated = view.getUint8(13);
  const sectorsPerCluster = stated <= 0x80 ? stated : 2 ** (256 - stated);
  const volumeBytes = Number(view.getBigUint64(40, true)) * sectorBytes;
  if (![512, 1024, 2048, 4096].includes(sectorBytes) || !Number.isSafeInteger(volumeBytes)) return undefined;
  if (sectorsPerCluster < 1 || sectorsPerCluster * sectorBytes > 2 ** 21 || volumeBytes === 0) return undefined;
  return {
    sectorBytes,
    clusterBytes: sectorsPerCluster * sectorBytes,
    volumeBytes,
    serial: serialText(view.getUint32(72, true)),
    dirty: undefined, // it stands in the $Volume file, not in the boot sector
  };
}
