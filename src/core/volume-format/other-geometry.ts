import type { FileSystem } from '../model/stick-facts.ts';
import { serialText } from './fat-root.ts';

/** What an exFAT or NTFS boot sector says of its volume. */
export interface VolumeGeometry {
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

/** Common practice (Linux fs/ntfs3/ntfs.h, struct NTFS_BOOT): sector size at 11, cluster at 13, sectors at 40, serial at 72. */
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
