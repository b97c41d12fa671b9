import type { FileSystem } from '../../model/stick-facts.ts';
import { recogniseVolume, volumeHeadBytes } from '../boot-sector.ts';
import { type FatGeometry, readFatGeometry } from '../fat-geometry.ts';
import { readOtherGeometry } from '../fat-root.ts';
import { readPartitionTable, type TableReading, tableHeadBytes } from '../partition-table.ts';
import { readAt, type SectorReader, viewSectors } from '../sector-reader.ts';
import { auditExfat } from './audit-exfat.ts';
import { auditFat, auditFatNames } from './audit-fat.ts';
import { auditFatBoot } from './audit-fat-boot.ts';
import { auditGpt, auditMbr, findGptHeaders, isProtective, readMbrEntries } from './audit-tables.ts';
import { type Flaw, flaw, type MediumFacts, type VolumeFacts } from './flaw.ts';
import type { WaysAsked } from './way-tree.ts';

interface Place {
  readonly partition: number | undefined;
  readonly type: number | undefined;
  readonly startByte: number;
  readonly bytes: number;
}

/**
 * Everything that the sectors of a medium tell but its files' content; of what leads to the files ASKED for, also what
 * only some reader would mind. Writes nothing; every number is bounded before it is used.
 */
export function auditMedium(reader: SectorReader, asked?: WaysAsked): MediumFacts {
  const head = readAt(reader, 0, tableHeadBytes);
  const reading = readPartitionTable(head, reader.sizeBytes);
  const places = placesOf(reading, reader.sizeBytes);
  const volumes: VolumeFacts[] = [];
  for (const place of places)
    volumes.push(
      auditVolume(
        reader,
        place,
        volumes.some((volume) => volume.audited),
        asked,
      ),
    );
  return {
    mediumBytes: reader.sizeBytes,
    table: reading.table,
    partitions: reading.partitions,
    volumes,
    flaws: head.length < 512 ? [flaw('nothing-recognised')] : auditTable(reader, head, reading, volumes),
  };
}

/**
 * Of a volume that is mounted, whose sectors READER starts at. Of FAT: what leads to the files ASKED for, which names
 * share a place, and of its boot sector what no driver changes at work. Of exFAT, whose driver believes the allocation
 * bitmap unseen, all the rest too. Marks and free space are the driver's business.
 */
export function auditMounted(reader: SectorReader, asked: WaysAsked): MediumFacts {
  const place: Place = { partition: undefined, type: undefined, startByte: 0, bytes: reader.sizeBytes };
  const { fat, fileSystem } = recogniseVolume(readAt(reader, 0, volumeHeadBytes));
  const facts = { mediumBytes: reader.sizeBytes, table: 'unknown', partitions: [], flaws: [] } as const;
  if (fileSystem === 'exfat') {
    const volume = auditVolume(reader, place, false, asked);
    return { ...facts, volumes: [{ ...volume, flaws: volume.flaws.filter(({ kind }) => !atWork.has(kind)) }] };
  }
  const isThere = fat !== undefined && fat.dataFirstSector * fat.sectorBytes < reader.sizeBytes;
  if (!isThere) return { ...facts, volumes: [] };
  const volume = auditVolume(reader, place, true);
  const { doubtful, flaws } = auditFatNames(reader, fat, asked);
  const boot = auditFatBoot(reader, readAt(reader, 0, 512), fat, 0).filter(({ kind }) => lasting.has(kind));
  return { ...facts, volumes: [{ ...volume, doubtful, flaws: [...boot, ...flaws] }] };
}

/** What a driver leaves to the end; and a file that was removed while it is open keeps its clusters until then. */
const atWork: ReadonlySet<Flaw['kind']> = new Set(['dirty', 'exfat-percent-wrong', 'lost-clusters']);

const lasting: ReadonlySet<Flaw['kind']> = new Set([
  'boot-jump-missing',
  'type-text-missing',
  'media-byte-differs',
  'fat-start-wrong',
  'mirroring-off',
]);

function placesOf({ table, partitions }: TableReading, mediumBytes: number): readonly Place[] {
  if (partitions.length > 0)
    return partitions.map(({ number, type, startByte, bytes }) => ({ partition: number, type, startByte, bytes }));
  return table === 'none' ? [{ partition: undefined, type: undefined, startByte: 0, bytes: mediumBytes }] : [];
}

function auditTable(
  reader: SectorReader,
  head: Uint8Array,
  { table }: TableReading,
  volumes: readonly VolumeFacts[],
): readonly Flaw[] {
  const isSigned = head[510] === 0x55 && head[511] === 0xaa;
  const gpt = findGptHeaders(reader);
  const where = gpt.start && gpt.end ? 'both' : gpt.start ? 'start' : gpt.end ? 'end' : undefined;
  if (table === 'none') return where === undefined ? [] : [flaw('gpt-leftover', { where })];
  const found: Flaw[] = isSigned ? [...auditMbr(head, reader.sizeBytes)] : [];
  if (isSigned && isProtective(head)) return [...found, ...auditGpt(reader)];
  if (where !== undefined) found.push(flaw('gpt-leftover', { where }));
  const isEmpty = volumes.length === 0 && (!isSigned || readMbrEntries(head).length === 0);
  return isEmpty ? [...found, ...auditLoneVolume(head)] : found;
}

/** Neither a table nor a volume: perhaps a FAT boot sector that is out of order. */
function auditLoneVolume(head: Uint8Array): readonly Flaw[] {
  const { problem } = recogniseVolume(head);
  return [problem === undefined ? flaw('nothing-recognised') : flaw('boot-sector-damaged', { problem })];
}

function auditVolume(medium: SectorReader, place: Place, looked: boolean, asked?: WaysAsked): VolumeFacts {
  const { partition, startByte, bytes } = place;
  const reader = viewSectors(medium, startByte, bytes);
  const head = readAt(reader, 0, volumeHeadBytes);
  const { fileSystem, fat, problem } = recogniseVolume(head);
  const other = readOtherGeometry(fileSystem, head);
  const facts: VolumeFacts = {
    partition,
    startByte,
    bytes,
    fileSystem,
    sectorBytes: fat?.sectorBytes ?? other?.sectorBytes,
    clusterBytes: fat?.clusterBytes ?? other?.clusterBytes,
    clusters: fat?.clusters,
    freeClusters: undefined,
    label: undefined,
    serial: other?.serial,
    files: undefined,
    folders: undefined,
    doubtful: [],
    audited: false,
    flaws: auditType(place, fileSystem),
  };
  if (fileSystem === 'unknown') return { ...facts, flaws: [...facts.flaws, unreadable(reader, problem)] };
  if (looked) return facts;
  if (fileSystem === 'exfat') {
    const audit = auditExfat(reader, asked);
    return { ...facts, ...audit, audited: true, flaws: [...facts.flaws, ...audit.flaws] };
  }
  return fat === undefined ? facts : auditFatVolume(reader, facts, fat, asked);
}

function auditFatVolume(
  reader: SectorReader,
  facts: VolumeFacts,
  fat: FatGeometry,
  asked: WaysAsked | undefined,
): VolumeFacts {
  const extent = auditExtent(fat, facts.bytes);
  // Without its tables and the start of its data there is nothing to look into, however much the boot sector states.
  if (fat.dataFirstSector * fat.sectorBytes >= reader.sizeBytes)
    return { ...facts, flaws: [...facts.flaws, ...extent] };
  const audit = auditFat(reader, fat, facts.startByte, asked);
  return { ...facts, ...audit, audited: true, flaws: [...facts.flaws, ...extent, ...audit.flaws] };
}

function auditExtent(fat: FatGeometry, bytes: number): readonly Flaw[] {
  const statedBytes = fat.totalSectors * fat.sectorBytes;
  if (statedBytes > bytes) return [flaw('volume-past-partition', { statedBytes, bytes })];
  const isMuchSmaller = bytes - statedBytes > Math.max(2 ** 24, bytes / 50);
  return isMuchSmaller ? [flaw('volume-smaller-than-partition', { statedBytes, bytes })] : [];
}

/** FAT specification, "Boot Sector and BPB": FAT32 keeps a copy in sector 6. */
function unreadable(reader: SectorReader, problem: string | undefined): Flaw {
  const hasBackup = readFatGeometry(readAt(reader, 6 * 512, 512)).outcome === 'fat';
  const what = problem ?? 'nothing in it says which file system it is';
  return flaw('boot-sector-damaged', { problem: hasBackup ? `${what} (a sound copy of it lies in sector 6)` : what });
}

/** UEFI 2.10 leaves the type bytes to the OS; these pairs are common practice. */
const fitting: Readonly<Partial<Record<FileSystem, readonly number[]>>> = {
  fat12: [0x01, 0x04, 0x06, 0x0e],
  fat16: [0x04, 0x06, 0x0e],
  fat32: [0x0b, 0x0c],
  exfat: [0x07],
  ntfs: [0x07],
};

function auditType({ partition, type }: Place, fileSystem: FileSystem): readonly Flaw[] {
  const types = fitting[fileSystem];
  if (type === undefined || partition === undefined || types === undefined || types.includes(type)) return [];
  return [flaw('partition-type-misleading', { entry: partition, type, fileSystem })];
}
