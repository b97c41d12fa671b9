import type { FatKind } from '../fat-geometry.ts';

/** One MiB: what every current formatter aligns to (common practice, no source). */
export const partitionFirstSector = 2048;

/** Each of these is mounted by AOSP vold (Disk.cpp), but FAT12's, for which it has none. */
const typeBytes: Record<FatKind | 'exfat', number> = { fat12: 0x01, fat16: 0x0e, fat32: 0x0c, exfat: 0x07 };

/** The sectors of one partition that takes the medium whole, as far as 32-bit sector numbers reach. */
export const partitionSectors = (mediumSectors: number): number =>
  Math.min(mediumSectors, 0x1_0000_0000) - partitionFirstSector;

/**
 * An MBR with one partition that is not marked for booting: a PC that finds the stick in it starts from its own drive. UEFI
 * specification 2.10, table 5.1 and 5.2: disk signature at 440, entries of 16 bytes from 446.
 */
export function encodeMbr(kind: FatKind | 'exfat', sectors: number, diskSignature: number): Uint8Array {
  const sector = new Uint8Array(512);
  const view = new DataView(sector.buffer);
  sector.set([0xcd, 0x18, 0xf4, 0xeb, 0xfd]); // int 18h, then halt
  view.setUint32(440, diskSignature >>> 0 || 1, true);
  sector.set(chs(partitionFirstSector), 447);
  view.setUint8(450, typeBytes[kind]);
  sector.set(chs(partitionFirstSector + sectors - 1), 451);
  view.setUint32(454, partitionFirstSector, true);
  view.setUint32(458, sectors, true);
  sector.set([0x55, 0xaa], 510);
  return sector;
}

/** Head, sector and cylinder bits, and cylinder of LBA with 255 heads and 63 sectors; past their reach FE FF FF. */
function chs(lba: number): readonly [number, number, number] {
  const cylinder = Math.floor(lba / (255 * 63));
  if (cylinder > 1023) return [0xfe, 0xff, 0xff];
  const head = Math.floor(lba / 63) % 255;
  return [head, (lba % 63) + 1 + ((cylinder >> 8) << 6), cylinder & 0xff];
}
