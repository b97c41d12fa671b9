import type { FatKind } from '../fat-geometry.ts';
import { type FatLayout, fatCopies, layoutSectorBytes } from './plan-fat-layout.ts';

/** Bytes that go to one place; sectors of 512 bytes. */
export interface SectorWrite {
  readonly sector: number;
  readonly bytes: Uint8Array;
}

interface FatVolumeText {
  /** Upper case, at most 11 characters; undefined for none. */
  readonly label: string | undefined;
  /** 32 bits. */
  readonly serial: number;
  readonly at: FatTime;
}

/** A moment as FAT writes it: local time, from 1980, in steps of two seconds. */
export interface FatTime {
  readonly year: number;
  readonly month: number;
  readonly day: number;
  readonly hour: number;
  readonly minute: number;
  readonly second: number;
}

const rootCluster = 2;
const fsInfoSector = 1;
const backupBootSector = 6;
const media = 0xf8; // fixed medium; FAT[0] repeats it

/**
 * Sectors from the volume's start that must be zero before `encodeFatVolume` is written: all up to the root folder's
 * end.
 */
export const sectorsToClear = ({ kind, dataFirstSector, clusterSectors }: FatLayout): number =>
  dataFirstSector + (kind === 'fat32' ? clusterSectors : 0);

/** Everything in an empty volume that is not zero, in the order in which it is safe to write: the boot sector last. */
export function encodeFatVolume(layout: FatLayout, text: FatVolumeText): readonly SectorWrite[] {
  const { kind, reservedSectors, fatSectors, dataFirstSector, rootSlots } = layout;
  const isFat32 = kind === 'fat32';
  const boot = encodeBootSector(layout, text);
  const fat = encodeFatStart(kind);
  const writes: SectorWrite[] = [];
  for (let copy = 0; copy < fatCopies; copy++) writes.push({ sector: reservedSectors + copy * fatSectors, bytes: fat });
  if (text.label !== undefined) {
    const rootSectors = (rootSlots * 32) / layoutSectorBytes;
    writes.push({ sector: isFat32 ? dataFirstSector : dataFirstSector - rootSectors, bytes: encodeLabel(text) });
  }
  if (isFat32) {
    const info = encodeFsInfo(layout.clusters - 1);
    const tail = emptySector(); // third sector of the boot record: only its signature (FAT specification, "Sector 2")
    for (const first of [backupBootSector, 0]) {
      writes.push({ sector: first + 2, bytes: tail }, { sector: first + fsInfoSector, bytes: info });
    }
    writes.push({ sector: backupBootSector, bytes: boot });
  }
  return [...writes, { sector: 0, bytes: boot }];
}

/** Offsets: Microsoft FAT specification 1.03, "Boot Sector and BPB". */
function encodeBootSector(layout: FatLayout, { label, serial }: FatVolumeText): Uint8Array {
  const isFat32 = layout.kind === 'fat32';
  const sector = emptySector();
  const view = new DataView(sector.buffer);
  const extended = isFat32 ? 64 : 36;
  const codeAt = extended + 26;
  sector.set([0xeb, codeAt - 2, 0x90]); // BS_jmpBoot
  putText(sector, 3, 'MSWIN4.1', 8); // BS_OEMName; the specification names it as the one that no driver minds
  view.setUint16(11, layoutSectorBytes, true); // BPB_BytsPerSec
  view.setUint8(13, layout.clusterSectors); // BPB_SecPerClus
  view.setUint16(14, layout.reservedSectors, true); // BPB_RsvdSecCnt
  view.setUint8(16, fatCopies); // BPB_NumFATs
  view.setUint16(17, layout.rootSlots, true); // BPB_RootEntCnt
  const fits16 = !isFat32 && layout.totalSectors < 0x10000;
  view.setUint16(19, fits16 ? layout.totalSectors : 0, true); // BPB_TotSec16
  view.setUint8(21, media); // BPB_Media
  view.setUint16(22, isFat32 ? 0 : layout.fatSectors, true); // BPB_FATSz16
  view.setUint16(24, 63, true); // BPB_SecPerTrk, the same geometry as the partition entry's
  view.setUint16(26, 255, true); // BPB_NumHeads
  view.setUint32(28, layout.hiddenSectors, true); // BPB_HiddSec
  view.setUint32(32, fits16 ? 0 : layout.totalSectors, true); // BPB_TotSec32
  if (isFat32) {
    view.setUint32(36, layout.fatSectors, true); // BPB_FATSz32
    view.setUint32(44, rootCluster, true); // BPB_RootClus
    view.setUint16(48, fsInfoSector, true); // BPB_FSInfo
    view.setUint16(50, backupBootSector, true); // BPB_BkBootSec
  }
  view.setUint8(extended, 0x80); // BS_DrvNum
  view.setUint8(extended + 2, 0x29); // BS_BootSig
  view.setUint32(extended + 3, serial >>> 0, true); // BS_VolID
  putText(sector, extended + 7, label ?? 'NO NAME', 11); // BS_VolLab
  putText(sector, extended + 18, layout.kind.toUpperCase(), 8); // BS_FilSysType; U-Boot asks for it
  sector.set([0xcd, 0x18, 0xf4, 0xeb, 0xfd], codeAt); // int 18h, then halt: nothing to start here
  return sector;
}

/** FAT specification, "FSInfo Sector Structure". */
function encodeFsInfo(freeClusters: number): Uint8Array {
  const sector = emptySector();
  const view = new DataView(sector.buffer);
  view.setUint32(0, 0x41615252, true);
  view.setUint32(484, 0x61417272, true);
  view.setUint32(488, freeClusters, true);
  view.setUint32(492, rootCluster + 1, true);
  return sector;
}

/**
 * The two reserved entries and, for FAT32, the end of the root folder's chain (FAT specification, "FAT Data
 * Structure").
 */
function encodeFatStart(kind: FatLayout['kind']): Uint8Array {
  const sector = new Uint8Array(layoutSectorBytes);
  const view = new DataView(sector.buffer);
  switch (kind) {
    case 'fat12':
      sector.set([media, 0xff, 0xff]);
      return sector;
    case 'fat16':
      view.setUint32(0, 0xffffff00 + media, true);
      return sector;
    case 'fat32':
      view.setUint32(0, 0x0fffff00 + media, true);
      view.setUint32(4, 0x0fffffff, true); // clean, no errors
      view.setUint32(8, 0x0fffffff, true);
      return sector;
  }
}

/** A directory slot with only the volume bit (FAT specification, section 6): write time at 22, write date at 24. */
function encodeLabel({ label, at }: FatVolumeText): Uint8Array {
  const sector = new Uint8Array(layoutSectorBytes);
  const view = new DataView(sector.buffer);
  putText(sector, 0, label ?? '', 11);
  view.setUint8(11, 0x08);
  view.setUint16(22, (at.hour << 11) | (at.minute << 5) | (at.second >> 1), true);
  view.setUint16(24, (Math.min(127, Math.max(0, at.year - 1980)) << 9) | (at.month << 5) | at.day, true);
  return sector;
}

function emptySector(): Uint8Array<ArrayBuffer> {
  const sector = new Uint8Array(layoutSectorBytes);
  sector.set([0x55, 0xaa], 510);
  return sector;
}

function putText(sector: Uint8Array, at: number, text: string, length: number): void {
  for (let index = 0; index < length; index++) sector[at + index] = text.charCodeAt(index) || 0x20;
}

/** One MiB: what every current formatter aligns to (common practice, no source). */
export const partitionFirstSector = 2048;

/** Each of these is mounted by AOSP vold (Disk.cpp), but FAT12's, for which it has none. */
const typeBytes: Record<FatKind | 'exfat', number> = { fat12: 0x01, fat16: 0x0e, fat32: 0x0c, exfat: 0x07 };

/** The sectors of one partition that takes the medium whole, as far as 32-bit sector numbers reach. */
export const partitionSectors = (mediumSectors: number): number =>
  Math.min(mediumSectors, 0x1_0000_0000) - partitionFirstSector;

/**
 * An MBR with one partition that is not marked for booting: a PC that finds the stick in it starts from its own drive.
 * UEFI specification 2.10, table 5.1 and 5.2: disk signature at 440, entries of 16 bytes from 446.
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
