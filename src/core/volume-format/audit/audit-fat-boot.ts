import type { FatGeometry } from '../fat-geometry.ts';
import { readDirtyBits, readFsInfo } from '../fat-state.ts';
import { readAt, type SectorReader } from '../sector-reader.ts';
import { type Flaw, flaw } from './flaw.ts';

/** BPB_ExtFlags at 40 (FAT32): bit 7 switches mirroring off, and the low four bits name the copy in use. */
export function activeFatCopy(boot: Uint8Array, { kind, fatCopies }: FatGeometry): number {
  const flags = boot[40] ?? 0;
  return kind === 'fat32' && (flags & 0x80) !== 0 ? Math.min(flags & 0x0f, fatCopies - 1) : 0;
}

/**
 * What the boot sector, its backup and the head of the table say, apart from the geometry; offsets of the FAT
 * specification 1.03.
 */
export function auditFatBoot(
  reader: SectorReader,
  boot: Uint8Array,
  geometry: FatGeometry,
  startByte: number,
): readonly Flaw[] {
  const view = new DataView(boot.buffer, boot.byteOffset, 512);
  const isFat32 = geometry.kind === 'fat32';
  const found: Flaw[] = [];
  const jump = boot[0] === 0xe9 || (boot[0] === 0xeb && boot[2] === 0x90); // BS_jmpBoot
  if (!jump) found.push(flaw('boot-jump-missing'));
  const typeAt = isFat32 ? 82 : 54; // BS_FilSysType
  const [text, wanted] = [textAt(boot, typeAt, 8), `${geometry.kind.toUpperCase()}   `];
  if (text !== wanted) found.push(flaw('type-text-missing', { text, at: typeAt, wanted }));
  const hidden = view.getUint32(28, true); // BPB_HiddSec
  if (hidden * 512 !== startByte)
    found.push(flaw('hidden-sectors-differ', { stated: hidden, actual: startByte / 512 }));
  if (isFat32 && (view.getUint8(40) & 0x80) !== 0)
    found.push(flaw('mirroring-off', { active: activeFatCopy(boot, geometry) }));
  return [...found, ...auditTableHead(reader, boot, geometry), ...(isFat32 ? auditBackup(reader, boot, geometry) : [])];
}

/** FAT[0] repeats the media byte under set bits; FAT[1] ends a chain but for its two marks ("FAT Data Structure"). */
function auditTableHead(reader: SectorReader, boot: Uint8Array, geometry: FatGeometry): readonly Flaw[] {
  const copyAt = geometry.reservedSectors + activeFatCopy(boot, geometry) * geometry.fatSectors;
  const head = readAt(reader, copyAt * geometry.sectorBytes, 512);
  const found: Flaw[] = [];
  if (head.length < 512) return found;
  const media = boot[21] ?? 0; // BPB_Media
  const isMedia = media === 0xf0 || media >= 0xf8;
  if (head[0] !== media || !isMedia) found.push(flaw('media-byte-differs', { stated: media, table: head[0] ?? 0 }));
  const bits = readDirtyBits(geometry, boot, head);
  if (bits.bootSectorDirty || bits.tableDirty) found.push(flaw('dirty'));
  if (bits.tableSawErrors || ((boot[geometry.kind === 'fat32' ? 65 : 37] ?? 0) & 2) !== 0)
    found.push(flaw('errors-recorded'));
  // mtools 4.0.32, too, takes no FAT16 table whose fourth byte is not FF, so not one with this mark.
  if (geometry.kind === 'fat16' && bits.tableDirty) found.push(flaw('marked-in-table'));
  if (!isTableStart(geometry, head)) found.push(flaw('fat-start-wrong'));
  return found;
}

/** Of FAT12 and FAT16 mtools takes no table whose second and third byte are not FF. */
function isTableStart({ kind }: FatGeometry, head: Uint8Array): boolean {
  const view = new DataView(head.buffer, head.byteOffset, 512);
  switch (kind) {
    case 'fat12':
      return ((view.getUint16(0, true) >> 8) & 0xf) === 0xf && view.getUint16(1, true) >> 4 === 0xfff;
    case 'fat16':
      return view.getUint8(1) === 0xff && (view.getUint16(2, true) | 0xc000) === 0xffff;
    case 'fat32':
      return (
        (view.getUint32(0, true) & 0x0fffff00) === 0x0fffff00 &&
        ((view.getUint32(4, true) & 0x0fffffff) | 0x0c000000) >= 0x0ffffff8
      );
  }
}

/** BPB_BkBootSec at 50 names the copy of the boot sector, byte for byte but for the state byte. */
function auditBackup(reader: SectorReader, boot: Uint8Array, geometry: FatGeometry): readonly Flaw[] {
  const stated = new DataView(boot.buffer, boot.byteOffset, 512).getUint16(50, true);
  if (stated === 0 || stated === 0xffff)
    return [flaw('backup-boot-missing', { problem: 'the boot sector names none' })];
  if (geometry.backupBootSector === undefined)
    return [flaw('backup-boot-missing', { problem: `the boot sector names sector ${stated}, outside its own area` })];
  const backup = readAt(reader, geometry.backupBootSector * geometry.sectorBytes, 512);
  let bytes = 0;
  for (let at = 0; at < 512; at++) if (at !== 65 && backup[at] !== boot[at]) bytes++;
  return bytes === 0 ? [] : [flaw('backup-boot-differs', { bytes })];
}

/** FSInfo against a count of the table itself. */
export function auditFsInfo(
  reader: SectorReader,
  boot: Uint8Array,
  geometry: FatGeometry,
  freeClusters: number,
): readonly Flaw[] {
  if (geometry.kind !== 'fat32') return [];
  const named = new DataView(boot.buffer, boot.byteOffset, 512).getUint16(48, true);
  if (geometry.fsInfoSector === undefined) {
    const problem =
      named === 0 || named === 0xffff
        ? 'the boot sector names none'
        : `the boot sector names sector ${named}, outside its own area`;
    return [flaw('fsinfo-missing', { problem })];
  }
  const sector = readAt(reader, geometry.fsInfoSector * geometry.sectorBytes, 512);
  const info = readFsInfo(sector, geometry.clusters);
  if (info === undefined) return [flaw('fsinfo-missing', { problem: 'its signatures are wrong' })];
  const view = new DataView(sector.buffer, sector.byteOffset, 512);
  const stated = view.getUint32(488, true);
  const next = view.getUint32(492, true);
  const found: Flaw[] = [];
  if (stated !== 0xffffffff && stated !== freeClusters)
    found.push(flaw('fsinfo-free-wrong', { stated, counted: freeClusters }));
  if (next !== 0xffffffff && info.nextFree === undefined) found.push(flaw('fsinfo-next-invalid', { stated: next }));
  return found;
}

const textAt = (bytes: Uint8Array, at: number, length: number): string =>
  [...bytes.subarray(at, at + length)]
    .map((byte) => (byte >= 0x20 && byte < 0x7f ? String.fromCharCode(byte) : '\ufffd'))
    .join('');
