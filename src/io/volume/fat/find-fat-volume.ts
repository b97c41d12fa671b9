import type { FileSystem } from '../../../core/model/stick-facts.ts';
import { ToolError } from '../../../core/model/tool-error.ts';
import { type RecognisedVolume, recogniseVolume, volumeHeadBytes } from '../../../core/volume-format/boot-sector.ts';
import type { FatGeometry } from '../../../core/volume-format/fat-geometry.ts';
import { readPartitionTable, type TableReading, tableHeadBytes } from '../../../core/volume-format/partition-table.ts';
import { deviceSectorBytes, type SectorDevice } from '../sector-device.ts';

interface FoundFatVolume extends TableReading {
  readonly geometry: FatGeometry;
  readonly startByte: number;
  readonly bytes: number;
}

/**
 * Looks for a FAT volume in sector 0, or in the partitions in table order. Throws `stick/unsupported-file-system` with
 * what is there.
 */
export function findFatVolume(device: SectorDevice, target: string): FoundFatVolume {
  const reading = readPartitionTable(readHead(device, 0, device.sizeBytes, tableHeadBytes), device.sizeBytes);
  const places = reading.partitions.length > 0 ? reading.partitions : [{ startByte: 0, bytes: device.sizeBytes }];
  const seen: RecognisedVolume[] = [];
  for (const { startByte, bytes } of places) {
    const volume = recogniseVolume(readHead(device, startByte, bytes, volumeHeadBytes));
    if (volume.fat !== undefined) return { ...reading, geometry: volume.fat, startByte, bytes };
    seen.push(volume);
  }
  throw unsupported(target, reading, seen);
}

function readHead(device: SectorDevice, startByte: number, bytes: number, atMost: number): Uint8Array {
  const head = Math.min(bytes, atMost);
  const into = new Uint8Array(head - (head % deviceSectorBytes));
  device.readSectors(startByte / deviceSectorBytes, into);
  return into;
}

const names: Readonly<Record<FileSystem, string>> = {
  fat12: 'FAT12',
  fat16: 'FAT16',
  fat32: 'FAT32',
  exfat: 'exFAT',
  ntfs: 'NTFS',
  ext: 'a Linux ext file system',
  'hfs+': 'HFS+ of macOS',
  apfs: 'APFS of macOS',
  iso9660: 'a CD image (ISO 9660)',
  luks: 'an encrypted volume (LUKS)',
  bitlocker: 'an encrypted volume (BitLocker)',
  other: 'another file system',
  unknown: 'nothing that can be recognised',
};

function unsupported(target: string, reading: TableReading, seen: readonly RecognisedVolume[]): ToolError {
  const problem = seen.find((volume) => volume.problem !== undefined)?.problem;
  const tableProblem = reading.problems[0];
  const what =
    problem !== undefined
      ? `its FAT boot sector is damaged: ${problem}`
      : tableProblem !== undefined && seen.every((volume) => volume.fileSystem === 'unknown')
        ? `its partition table ${tableProblem}`
        : `it holds ${seen.map((volume) => names[volume.fileSystem]).join(' and ')}, not FAT`;
  return new ToolError(
    'stick/unsupported-file-system',
    target,
    what,
    'As an image or a raw device only FAT12, FAT16 and FAT32 can be read. Mount the volume and give its folder instead, or format the stick as FAT32. If it was prepared before, something formatted it since: panels and computers offer to.',
  );
}

/**
 * The part of DEVICE that holds one partition; out of its bounds there is nothing. The device stays the caller's to
 * close.
 */
export function viewPartition(device: SectorDevice, startByte: number, bytes: number): SectorDevice {
  const start = startByte / deviceSectorBytes;
  const place = (first: number, length: number): number => {
    if (first < 0 || first * deviceSectorBytes + length > bytes) {
      throw new RangeError(`sector ${first} lies outside the partition`);
    }
    return start + first;
  };
  return {
    sizeBytes: bytes,
    readOnly: device.readOnly,
    readSectors: (first, into) => device.readSectors(place(first, into.length), into),
    writeSectors: (first, from) => device.writeSectors(place(first, from.length), from),
    catchUp: async (waitingBytes) => device.catchUp?.(waitingBytes),
    flush: () => device.flush(),
    close: async () => {},
  };
}
