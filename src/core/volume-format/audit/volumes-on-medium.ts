import type { FileSystem, OtherVolume } from '../../model/stick-facts.ts';
import { behindFat, recogniseVolume, volumeHeadBytes } from '../boot-sector.ts';
import { readAt, type SectorReader } from '../sector-reader.ts';
import { isProtective, type MbrEntry, readMbrEntries } from './audit-tables.ts';

/** Bounds that no real stick comes near, so that no made-up one can keep us busy. */
const maxLogicalDrives = 128;
const maxPlaces = 512;
/** So many are enough to say no. */
const maxVolumes = 16;
/** Linux reads no longer list of GPT entries (block/partitions/efi.c: it must fit one allocation of 4 MiB). */
const maxGptListBytes = 2 ** 22;

interface Place {
  readonly where: OtherVolume['where'];
  readonly number: number | undefined;
  readonly startByte: number;
  /** Undefined: up to the medium's end. */
  readonly bytes: number | undefined;
  /**
   * A table that readers go by names it, so that it counts whatever is there; else only what can be recognised counts.
   */
  readonly counts: boolean;
}

interface FoundVolume extends OtherVolume {
  readonly startByte: number;
  readonly head: Uint8Array;
}

/**
 * What else on a medium some reader could take for a volume, beside the one that starts at byte OWN (or, given its
 * first sector, looks like it): every table is followed that any reader goes by, also where another one contradicts it.
 * A volume at an address that no table names is nobody's: no reader searches a medium for one.
 */
export function otherVolumesOn(reader: SectorReader, own: number | Uint8Array): readonly OtherVolume[] {
  const found = volumesOn(reader);
  const looksLikeOwn = ({ startByte, head }: FoundVolume): boolean =>
    typeof own === 'number' ? startByte === own : isSameBootSector(head, own);
  // A driver may have changed the sector since; but one of them it must be.
  const self = found.find(looksLikeOwn) ?? (typeof own === 'number' ? undefined : found[0]);
  const others = found.filter((volume) => volume !== self);
  const disguised = self === undefined ? undefined : behindFat(self.head);
  const twin: readonly OtherVolume[] =
    self === undefined || disguised === undefined
      ? []
      : [{ where: 'same-place', number: undefined, fileSystem: disguised, bytes: self.bytes }];
  return [...others.map(({ where, number, fileSystem, bytes }) => ({ where, number, fileSystem, bytes })), ...twin];
}

function volumesOn(reader: SectorReader): readonly FoundVolume[] {
  const found: FoundVolume[] = [];
  const seen = new Set<number>();
  for (const { where, number, startByte, bytes, counts } of placesOn(reader)) {
    if (seen.has(startByte) || startByte >= reader.sizeBytes) continue;
    seen.add(startByte);
    const head = readAt(reader, startByte, volumeHeadBytes);
    const { fileSystem, problem } = recogniseVolume(head);
    const isTooMany = seen.size >= maxPlaces; // what is not looked at counts
    if (counts || isTooMany || isSomething(fileSystem, problem))
      found.push({ where, number, fileSystem, bytes, startByte, head });
    if (isTooMany || found.length >= maxVolumes) break;
  }
  return found;
}

/** Another reader may take what we call damaged. */
const isSomething = (fileSystem: FileSystem, problem: string | undefined): boolean =>
  fileSystem !== 'unknown' || problem !== undefined;

function placesOn(reader: SectorReader): readonly Place[] {
  const first = readAt(reader, 0, 512);
  const start: Place = {
    where: 'start',
    number: undefined,
    startByte: 0,
    bytes: undefined,
    counts: false,
  };
  const isTable = isSigned(first);
  const isGpt = isTable && isProtective(first);
  return [
    start,
    ...(isTable ? mbrPlaces(reader, first) : []),
    ...[512, 4096].flatMap((sectorBytes) => gptPlaces(reader, sectorBytes, isGpt)),
  ];
}

const isSigned = (sector: Uint8Array): boolean => sector.length >= 512 && sector[510] === 0x55 && sector[511] === 0xaa;

/** Containers of logical drives (UEFI 2.10 leaves them to the OS; common practice). */
const isContainer = ({ type }: MbrEntry): boolean => type === 0x05 || type === 0x0f || type === 0x85;
const isProtectiveEntry = ({ type }: MbrEntry): boolean => type === 0xee;

/**
 * Entries of any type byte: Linux and AOSP's boot loaders look at the volume itself. Where the sector is a volume's
 * own, its boot code fills this space: it is a table only where a boot byte, a type and a place say so (Linux,
 * block/partitions/msdos.c).
 */
function mbrPlaces(reader: SectorReader, first: Uint8Array): readonly Place[] {
  const isVolume = recogniseVolume(first).fileSystem !== 'unknown';
  return readMbrEntries(first)
    .filter(({ boot, type, bytes }) => bytes > 0 && (!isVolume || (type !== 0 && (boot === 0 || boot === 0x80))))
    .filter((entry) => !isProtectiveEntry(entry))
    .flatMap((entry) => {
      const { entry: number, startByte, bytes } = entry;
      const place: Place = { where: 'partition', number, startByte, bytes, counts: !isContainer(entry) };
      return isContainer(entry) ? [place, ...logicalPlaces(reader, startByte)] : [place];
    });
}

/**
 * A chain of tables like the MBR's: a drive's place counts from its own table, the next table's from the container
 * (common practice).
 */
function logicalPlaces(reader: SectorReader, containerAt: number): readonly Place[] {
  const places: Place[] = [];
  const seen = new Set<number>();
  const waiting = [containerAt];
  for (let at = waiting.pop(); at !== undefined && seen.size < maxLogicalDrives; at = waiting.pop()) {
    if (seen.has(at) || at % 512 !== 0 || at >= reader.sizeBytes) continue;
    seen.add(at);
    const table = readAt(reader, at, 512);
    if (!isSigned(table)) continue;
    for (const entry of readMbrEntries(table)) {
      if (entry.bytes === 0) continue;
      if (isContainer(entry)) waiting.push(containerAt + entry.startByte);
      else {
        const number = 5 + places.length;
        places.push({
          where: 'logical-drive',
          number,
          startByte: at + entry.startByte,
          bytes: entry.bytes,
          counts: true,
        });
      }
    }
  }
  return places;
}

/**
 * The GPT behind the first sector, the one at the end and the one that the first names as its copy (UEFI specification
 * 2.10, tables 5.5 and 5.6). Checksums are not asked for: not every reader does.
 */
function gptPlaces(reader: SectorReader, sectorBytes: number, isInUse: boolean): readonly Place[] {
  const last = Math.floor(reader.sizeBytes / sectorBytes) - 1;
  const primary = readHeader(reader, 1, sectorBytes);
  const copies = new Set([last, ...(primary === undefined ? [] : [primary.copyLba])]);
  const backups = [...copies].map((lba) => readHeader(reader, lba, sectorBytes));
  return [
    ...listed(reader, primary, sectorBytes, isInUse ? 'gpt-partition' : 'old-gpt'),
    ...backups.flatMap((backup) => listed(reader, backup, sectorBytes, 'old-gpt')),
  ];
}

interface Header {
  readonly copyLba: number;
  readonly entriesLba: number;
  readonly count: number;
  readonly entryBytes: number;
}

function readHeader(reader: SectorReader, lba: number, sectorBytes: number): Header | undefined {
  if (lba < 1 || lba * sectorBytes + 512 > reader.sizeBytes) return undefined;
  const sector = readAt(reader, lba * sectorBytes, 512);
  if (String.fromCharCode(...sector.subarray(0, 8)) !== 'EFI PART') return undefined;
  const view = new DataView(sector.buffer, sector.byteOffset, 512);
  const header = {
    copyLba: Number(view.getBigUint64(32, true)),
    entriesLba: Number(view.getBigUint64(72, true)),
    count: view.getUint32(80, true),
    entryBytes: view.getUint32(84, true),
  };
  return header.entryBytes >= 128 && header.count * header.entryBytes <= maxGptListBytes ? header : undefined;
}

function listed(
  reader: SectorReader,
  header: Header | undefined,
  sectorBytes: number,
  where: Place['where'],
): readonly Place[] {
  if (header === undefined) return [];
  const { entriesLba, count, entryBytes } = header;
  const listBytes = Math.ceil((count * entryBytes) / 512) * 512;
  const list = readAt(reader, Math.min(entriesLba * sectorBytes, reader.sizeBytes), listBytes);
  const view = new DataView(list.buffer, list.byteOffset, list.byteLength);
  const places: Place[] = [];
  for (let at = 0; at + 48 <= list.length; at += entryBytes) {
    if (list.subarray(at, at + 16).every((byte) => byte === 0)) continue;
    const firstLba = Number(view.getBigUint64(at + 32, true));
    const bytes = (Number(view.getBigUint64(at + 40, true)) + 1 - firstLba) * sectorBytes;
    const number = at / entryBytes + 1;
    const counts = where === 'gpt-partition' && bytes > 0;
    places.push({ where, number, startByte: firstLba * sectorBytes, bytes: Math.max(0, bytes), counts });
  }
  return places;
}

/**
 * Marks that a driver changes while it is at work: the state byte of FAT (37 or 65), flags and share in use of exFAT
 * (106, 107, 112).
 */
const volatile: ReadonlySet<number> = new Set([37, 65, 106, 107, 112]);

const isSameBootSector = (one: Uint8Array, other: Uint8Array): boolean =>
  other.length >= 512 && one.subarray(0, 512).every((byte, at) => volatile.has(at) || byte === other[at]);
