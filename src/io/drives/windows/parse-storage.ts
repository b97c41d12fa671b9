import type { DriveFacts, PartitionTable } from '../../../core/model/stick-facts.ts';
import type { Drive, MountedVolume } from '../drives.ts';
import { nameFileSystem } from '../name-file-system.ts';
import { refuseDrive } from '../refuse-drive.ts';

type Fields = Readonly<Record<string, unknown>>;

/** Drives from the JSON that the storage script prints; SYSTEM LETTERS are those of Windows, the home and the working folder. */
export function parseStorage(json: string, systemLetters: readonly string[]): readonly Drive[] {
  const all: unknown = JSON.parse(json);
  const volumes = list(all, 'volumes');
  const partitions = list(all, 'partitions');
  return list(all, 'disks').map((disk) => {
    const own = partitions.filter((partition) => number(partition, 'DiskNumber') === number(disk, 'Number'));
    const letters = own.map((partition) => text(partition, 'DriveLetter')?.toUpperCase());
    const bus = text(disk, 'BusType');
    const kinds = own.map((partition) => text(volumeOf(partition, volumes), 'DriveType'));
    const facts: DriveFacts = {
      device: `\\\\.\\PhysicalDrive${number(disk, 'Number') ?? '?'}`,
      maker: text(disk, 'Manufacturer'),
      model: text(disk, 'Model') ?? text(disk, 'FriendlyName'),
      serial: text(disk, 'SerialNumber'),
      bytes: number(disk, 'Size'),
      // A USB disk can be pulled, also where it calls itself fixed; other buses are asked.
      removable: bus === 'USB' || bus === 'SD' ? true : kinds.includes('Removable') || undefined,
      usb: bus === undefined || bus === 'Unknown' ? undefined : bus === 'USB',
      holdsSystem:
        flag(disk, 'IsBoot') === true ||
        flag(disk, 'IsSystem') === true ||
        letters.some((letter) => letter !== undefined && systemLetters.includes(letter)),
      readOnly: flag(disk, 'IsReadOnly'),
    };
    return {
      ...facts,
      port: undefined,
      partitionTable: tableOf(text(disk, 'PartitionStyle')),
      volumes: own.map((partition) => toVolume(partition, volumeOf(partition, volumes))),
      refusedBecause: refuseDrive(facts),
    };
  });
}

/** Letters and paths are compared without case; a partition and its volume share one. */
function volumeOf(partition: Fields, volumes: readonly Fields[]): Fields {
  const letter = text(partition, 'DriveLetter');
  return volumes.find((volume) => letter !== undefined && text(volume, 'DriveLetter') === letter) ?? {};
}

function toVolume(partition: Fields, volume: Fields): MountedVolume {
  const letter = text(partition, 'DriveLetter');
  return {
    device: letter === undefined ? `partition ${number(partition, 'PartitionNumber') ?? '?'}` : `${letter}:`,
    mountPoints: letter === undefined ? [] : [`${letter}:\\`],
    fileSystem: nameFileSystem(text(volume, 'FileSystem')),
    label: text(volume, 'FileSystemLabel'),
    bytes: number(volume, 'Size') ?? number(partition, 'Size'),
    freeBytes: number(volume, 'SizeRemaining'),
    clusterBytes: number(volume, 'AllocationUnitSize'),
    sectorBytes: undefined,
    readOnly: flag(partition, 'IsReadOnly'),
  };
}

function tableOf(style: string | undefined): PartitionTable {
  if (style === 'MBR') return 'mbr';
  if (style === 'GPT') return 'gpt';
  return style === 'RAW' ? 'none' : 'unknown';
}

/** PowerShell prints a list of one as the one. */
function list(all: unknown, key: string): readonly Fields[] {
  const value = isFields(all) ? all[key] : undefined;
  return (Array.isArray(value) ? value : [value]).filter(isFields);
}

const isFields = (value: unknown): value is Fields =>
  typeof value === 'object' && value !== null && !Array.isArray(value);

const text = (row: Fields, key: string): string | undefined => {
  const value = row[key];
  return typeof value === 'string' ? value.replaceAll('\u0000', '').trim() || undefined : undefined;
};
const number = (row: Fields, key: string): number | undefined => {
  const value = row[key];
  return typeof value === 'number' ? value : undefined;
};
const flag = (row: Fields, key: string): boolean | undefined => {
  const value = row[key];
  return typeof value === 'boolean' ? value : undefined;
};
