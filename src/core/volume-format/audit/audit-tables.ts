import CRC32 from 'crc-32';
import { readAt, type SectorReader } from '../sector-reader.ts';
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

/**
 * UEFI specification 2.10, section 5.2.1: four entries of 16 bytes from 446; boot byte at 0, type at 4, first sector at
 * 8, sectors at 12.
 */
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
  // A protective entry covers "the whole disk or as much as fits" (UEFI 2.10, table 5.4) and often overshoots after
  // imaging.
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

/** More would be hostile: 128 entries of 128 bytes are usual, and the specification sets no upper bound. */
const maxEntries = 1024;
const maxEntryBytes = 4096;

interface Header {
  readonly entriesLba: number;
  readonly count: number;
  readonly entryBytes: number;
  readonly entriesCrc: number;
  readonly firstUsable: number;
  readonly lastUsable: number;
}

type HeaderReading = { readonly header: Header } | { readonly problem: string } | undefined;

/** Which sector size the table was made for; undefined where there is no header at the start. */
const sectorSizes = [512, 4096] as const;

/** Where a GPT header stands, whether or not an MBR says so: behind the first sector, and in the last one. */
export function findGptHeaders(reader: SectorReader): { readonly start: boolean; readonly end: boolean } {
  return {
    start: sectorSizes.some((bytes) => isHeader(readAt(reader, bytes, 512))),
    end: isHeader(readAt(reader, lastSectorAt(reader), 512)),
  };
}

const lastSectorAt = ({ sizeBytes }: SectorReader): number => Math.max(0, Math.floor(sizeBytes / 512) - 1) * 512;

const isHeader = (sector: Uint8Array): boolean => String.fromCharCode(...sector.subarray(0, 8)) === 'EFI PART';

/** Checks both headers and both lists of entries (UEFI specification 2.10, section 5.3.2). */
export function auditGpt(reader: SectorReader): readonly Flaw[] {
  const sectorBytes = sectorSizes.find((bytes) => isHeader(readAt(reader, bytes, 512)));
  if (sectorBytes === undefined) return [flaw('gpt-missing')];
  const lastLba = Math.floor(reader.sizeBytes / sectorBytes) - 1;
  const primary = readHeader(reader, 1, sectorBytes, lastLba);
  const backup = readHeader(reader, lastLba, sectorBytes, lastLba);
  const found: Flaw[] = [];
  if (primary === undefined || 'problem' in primary)
    found.push(flaw('gpt-header-damaged', { problem: primary?.problem ?? 'is missing' }));
  else found.push(...auditEntries(reader, primary.header, sectorBytes, lastLba));
  if (backup === undefined || 'problem' in backup)
    found.push(flaw('gpt-backup-damaged', { problem: backup?.problem ?? 'is not in the last sector' }));
  else if (primary !== undefined && 'header' in primary && backup.header.entriesCrc !== primary.header.entriesCrc)
    found.push(flaw('gpt-backup-damaged', { problem: 'lists other partitions than the first copy' }));
  return found;
}

/**
 * Offsets of table 5.5: size 12, CRC 16, own place 24, usable 40 and 48, entries 72, count 80, entry size 84, CRC of
 * entries 88.
 */
function readHeader(reader: SectorReader, lba: number, sectorBytes: number, lastLba: number): HeaderReading {
  const sector = readAt(reader, lba * sectorBytes, 512);
  if (sector.length < 512 || !isHeader(sector)) return undefined;
  const view = new DataView(sector.buffer, sector.byteOffset, 512);
  const headerBytes = view.getUint32(12, true);
  if (headerBytes < 92 || headerBytes > 512) return { problem: `states a length of ${headerBytes} bytes` };
  const plain = sector.slice(0, headerBytes);
  plain.fill(0, 16, 20);
  if (CRC32.buf(plain) >>> 0 !== view.getUint32(16, true)) return { problem: 'does not match its checksum' };
  if (lbaAt(view, 24) !== lba) return { problem: 'states another place than its own' };
  const header: Header = {
    entriesLba: lbaAt(view, 72),
    count: view.getUint32(80, true),
    entryBytes: view.getUint32(84, true),
    entriesCrc: view.getUint32(88, true),
    firstUsable: lbaAt(view, 40),
    lastUsable: lbaAt(view, 48),
  };
  if (header.count > maxEntries || header.entryBytes < 128 || header.entryBytes > maxEntryBytes)
    return { problem: `states ${header.count} entries of ${header.entryBytes} bytes` };
  if (header.lastUsable > lastLba || header.firstUsable > header.lastUsable)
    return { problem: 'states sectors past the end of the medium' };
  return { header };
}

/** Table 5.6: type at 0, first sector at 32, last at 40. */
function auditEntries(reader: SectorReader, header: Header, sectorBytes: number, lastLba: number): readonly Flaw[] {
  const bytes = header.count * header.entryBytes;
  const table = readAt(reader, header.entriesLba * sectorBytes, Math.ceil(bytes / 512) * 512).subarray(0, bytes);
  if (table.length < bytes || CRC32.buf(table) >>> 0 !== header.entriesCrc) return [flaw('gpt-entries-damaged')];
  const view = new DataView(table.buffer, table.byteOffset, table.byteLength);
  const found: Flaw[] = [];
  const places: { entry: number; first: number; last: number }[] = [];
  for (let index = 0; index < header.count; index++) {
    const at = index * header.entryBytes;
    if (table.subarray(at, at + 16).every((byte) => byte === 0)) continue;
    const place = { entry: index + 1, first: lbaAt(view, at + 32), last: lbaAt(view, at + 40) };
    const problem = placeProblem(place, header, lastLba, places);
    if (problem !== undefined) found.push(flaw('gpt-entry-invalid', { entry: place.entry, problem }));
    places.push(place);
  }
  return found;
}

function placeProblem(
  { first, last }: { first: number; last: number },
  header: Header,
  lastLba: number,
  earlier: readonly { entry: number; first: number; last: number }[],
): string | undefined {
  if (last < first) return 'ends before it starts';
  if (last > lastLba) return 'ends past the end of the medium';
  if (first < header.firstUsable || last > header.lastUsable) return 'lies in the table itself';
  const other = earlier.find((one) => first <= one.last && one.first <= last);
  return other === undefined ? undefined : `overlaps entry ${other.entry}`;
}

/** A sector number of 64 bits; past 2^53 it is past every medium, and stays so. */
const lbaAt = (view: DataView, at: number): number => Number(view.getBigUint64(at, true));
