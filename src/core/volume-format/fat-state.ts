import type { FatGeometry } from './fat-geometry.ts';

export interface FatDirtyBits {
  /** Boot sector state byte, bit 0: set while mounted, cleared by a clean unmount. */
  readonly bootSectorDirty: boolean;
  /** The bit in FAT[1] that a clean unmount leaves set. */
  readonly tableDirty: boolean;
  /** The bit in FAT[1] that stays set while no read or write failed. */
  readonly tableSawErrors: boolean;
}

/**
 * BS_Reserved1 at 65 (FAT32) or 37 (FAT12/16), bit 0, as Linux and Windows use it; FAT[1] bits 27 and 26 (FAT32) or 15
 * and 14 (FAT16) are the Microsoft FAT specification's ClnShutBitMask and HrdErrBitMask. FAT12 has no such bits in its
 * table.
 */
export function readDirtyBits(geometry: FatGeometry, bootSector: Uint8Array, fatStart: Uint8Array): FatDirtyBits {
  const state = bootSector[geometry.kind === 'fat32' ? 65 : 37] ?? 0;
  const bootSectorDirty = (state & 1) !== 0;
  if (geometry.kind === 'fat12') return { bootSectorDirty, tableDirty: false, tableSawErrors: false };
  const view = new DataView(fatStart.buffer, fatStart.byteOffset, fatStart.byteLength);
  const second = geometry.kind === 'fat32' ? (view.getUint32(4, true) >>> 16) >>> 0 : view.getUint16(2, true);
  // Bits 27 and 26 of a 32-bit entry are bits 11 and 10 of its upper half.
  const [clean, sound] = geometry.kind === 'fat32' ? [0x0800, 0x0400] : [0x8000, 0x4000];
  return { bootSectorDirty, tableDirty: (second & clean) === 0, tableSawErrors: (second & sound) === 0 };
}

export interface FsInfo {
  /** What the volume says is free; undefined where it says that it does not know. */
  readonly freeClusters: number | undefined;
  readonly nextFree: number | undefined;
}

/** FAT specification, "FSInfo Sector Structure": signatures at 0, 484 and 508, free count at 488, next free at 492. */
export function readFsInfo(sector: Uint8Array, clusters: number): FsInfo | undefined {
  if (sector.length < 512) return undefined;
  const view = new DataView(sector.buffer, sector.byteOffset, 512);
  const signed =
    view.getUint32(0, true) === 0x41615252 &&
    view.getUint32(484, true) === 0x61417272 &&
    view.getUint32(508, true) === 0xaa550000;
  if (!signed) return undefined;
  const free = view.getUint32(488, true);
  const next = view.getUint32(492, true);
  return {
    freeClusters: free <= clusters ? free : undefined,
    nextFree: next >= 2 && next < clusters + 2 ? next : undefined,
  };
}

/**
 * Free entries among the `count` table entries that start at byte 0 of FAT. For FAT12 the bytes must be the whole table
 * and `first` is honoured; for the others the caller hands over slices that start at entry `first`.
 */
export function countFreeEntries(kind: FatGeometry['kind'], fat: Uint8Array, first: number, count: number): number {
  const view = new DataView(fat.buffer, fat.byteOffset, fat.byteLength);
  let free = 0;
  switch (kind) {
    case 'fat12':
      for (let entry = first; entry < first + count; entry++) {
        const pair = view.getUint16(entry + (entry >> 1), true);
        if (((entry & 1) === 0 ? pair & 0xfff : pair >> 4) === 0) free++;
      }
      return free;
    case 'fat16':
      for (let at = 0; at < count * 2; at += 2) if (view.getUint16(at, true) === 0) free++;
      return free;
    case 'fat32': // the upper four bits are reserved
      for (let at = 0; at < count * 4; at += 4) if ((view.getUint32(at, true) & 0x0fffffff) === 0) free++;
      return free;
  }
}
