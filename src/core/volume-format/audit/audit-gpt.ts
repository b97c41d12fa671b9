import CRC32 from 'crc-32';
import { type Flaw, flaw } from './flaw.ts';
import { readAt, type SectorReader } from './sector-reader.ts';

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

/** Offsets of table 5.5: size 12, CRC 16, own place 24, usable 40 and 48, entries 72, count 80, entry size 84, CRC of entries 88. */
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
