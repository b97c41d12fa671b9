import { type Flaw, flaw } from './flaw.ts';

export interface MbrEntry {
  readonly entry: number;
  readonly boot: number;
  readonly type: number;
  readonly startByte: number;
  readonly bytes: number;
}

/** AOSP vold, Disk.cpp, readPartitions: the MBR types that it mounts. */
const mountedTypes: ReadonlySet<number> = new Set([0x06, 0x07, 0x0b, 0x0c, 0x0e]);
/** Containers of logical drives (UEFI 2.10 leaves them to the OS; common practice). */
const extendedTypes: ReadonlySet<number> = new Set([0x05, 0x0f, 0x85]);
const protectiveType = 0xee; // UEFI 2.10, table 5.4

/** UEFI specification 2.10, section 5.2.1: four entries of 16 bytes from 446; boot byte at 0, type at 4, first sector at 8, sectors at 12. */
export function readMbrEntries(sector: Uint8Array): readonly MbrEntry[] {
  const view = new DataView(sector.buffer, sector.byteOffset, 512);
  return [0, 1, 2, 3]
    .map((index) => ({
      entry: index + 1,
      boot: view.getUint8(446 + index * 16),
      type: view.getUint8(446 + index * 16 + 4),
      startByte: view.getUint32(446 + index * 16 + 8, true) * 512,
      bytes: view.getUint32(446 + index * 16 + 12, true) * 512,
    }))
    .filter(({ boot, type, startByte, bytes }) => boot !== 0 || type !== 0 || startByte !== 0 || bytes !== 0);
}

export const isProtective = (sector: Uint8Array): boolean =>
  readMbrEntries(sector).some(({ type }) => type === protectiveType);

/** Judges the four entries of an MBR; SECTOR is the medium's first. */
export function auditMbr(sector: Uint8Array, mediumBytes: number): readonly Flaw[] {
  const entries = readMbrEntries(sector);
  const hasProtective = entries.some(({ type }) => type === protectiveType);
  const found = entries.flatMap((one, index) => [
    ...auditPlace(one, mediumBytes, entries.slice(0, index)),
    ...auditType(one),
  ]);
  const others = entries.filter(({ type }) => type !== protectiveType && type !== 0);
  return hasProtective && others.length > 0 ? [...found, flaw('hybrid-table')] : found;
}

function auditPlace(one: MbrEntry, mediumBytes: number, earlier: readonly MbrEntry[]): readonly Flaw[] {
  const { entry, boot, type, startByte, bytes } = one;
  const found: Flaw[] = [];
  if (boot !== 0 && boot !== 0x80) found.push(flaw('boot-byte-invalid', { entry, value: boot }));
  if (startByte === 0 || bytes === 0 || type === 0) {
    found.push(flaw('partition-without-place', { entry }));
    return found;
  }
  const endByte = startByte + bytes;
  // A protective entry covers "the whole disk or as much as fits" (UEFI 2.10, table 5.4) and often overshoots after imaging.
  if (type !== protectiveType && endByte > mediumBytes)
    found.push(flaw('partition-past-end', { entry, endByte, mediumBytes }));
  const other = earlier.find((before) => startByte < before.startByte + before.bytes && before.startByte < endByte);
  if (other !== undefined) found.push(flaw('partitions-overlap', { entry, other: other.entry }));
  return found;
}

function auditType({ entry, type }: MbrEntry): readonly Flaw[] {
  if (type === protectiveType || type === 0) return [];
  if (extendedTypes.has(type)) return [flaw('extended-partition', { entry })];
  return mountedTypes.has(type) ? [] : [flaw('partition-type-not-mounted', { entry, type })];
}
