import { win32 } from 'node:path';
import type { DriveFacts, PartitionTable } from '../../core/model/stick-facts.ts';
import { runPowerShell } from '../programs/run-powershell.ts';
import { letterIn } from '../volume/unknown-on-windows.ts';
import { type DriveSource, isSameDevice, type Mount, nameFileSystem, refuseDrive } from './drive-source.ts';
import type { Drive, MountedVolume } from './drives.ts';
import type { PlaceInUse } from './places-in-use.ts';
import { readHead } from './read-sectors-of.ts';

/** Each as it is, or by its name where its number differs between versions (Storage module: enumerations). */
const fields = (asTheyAre: readonly string[], byName: readonly string[]): string =>
  [
    ...asTheyAre.map((name) => `'${name}'`),
    ...byName.map((name) => `@{ n = '${name}'; e = { "$($_.${name})" } }`),
  ].join(', ');

const letter = `@{ n = 'DriveLetter'; e = { if ($_.DriveLetter) { "$($_.DriveLetter)" } else { '' } } }`;

const ofDisks = fields(
  [
    'Number',
    'FriendlyName',
    'Manufacturer',
    'Model',
    'SerialNumber',
    'Size',
    'IsBoot',
    'IsSystem',
    'IsReadOnly',
    'LogicalSectorSize',
  ],
  ['BusType', 'PartitionStyle'],
);
const ofPartitions = fields(['DiskNumber', 'PartitionNumber', 'Size', 'IsReadOnly', 'AccessPaths'], []);
const ofVolumes = fields(
  ['Size', 'SizeRemaining', 'AllocationUnitSize', 'FileSystemLabel'],
  ['FileSystem', 'DriveType'],
);

/** What Get-Disk, Get-Partition and Get-Volume of the Storage module tell. */
export const storageScript = `
$disks = Get-Disk | Select-Object -Property @(${ofDisks})
$partitions = Get-Partition | Select-Object -Property @(${ofPartitions}, ${letter})
$volumes = Get-Volume | Select-Object -Property @(${ofVolumes}, ${letter})
@{ disks = @($disks); partitions = @($partitions); volumes = @($volumes) }
`;

/** One call of PowerShell; run under Wine with a stand-in that answers, and never on a real Windows. */
export const windowsDrives: DriveSource = windowsDrivesBy(() => runPowerShell(storageScript));

/** So long does nobody want to wait for several times in one command. */
const slowMs = 5000;
const restMs = 60_000;

/** One that failed slowly is not asked again for a while: its letters are read without it. */
export function windowsDrivesBy(ask: () => Promise<unknown>, now: () => number = () => performance.now()): DriveSource {
  let resting: { readonly until: number; readonly error: unknown } | undefined;
  const list = async (inUse: readonly PlaceInUse[]): Promise<readonly Drive[]> => {
    const began = now();
    if (resting !== undefined && began < resting.until) throw resting.error;
    try {
      return parseStorage(await ask(), inUse);
    } catch (error) {
      if (now() - began >= slowMs) resting = { until: now() + restMs, error };
      throw error;
    }
  };
  return {
    listDrives: list,
    async mountOf(path): Promise<Mount | undefined> {
      const letter = letterIn(path);
      if (letter === undefined) return undefined;
      const place = { mountPoint: `${letter}:\\`, device: `\\\\.\\${letter}:` };
      const drives = await list([]).catch(() => undefined);
      const drive = drives?.find(({ volumes }) => volumes.some(({ device }) => isSameDevice(device, place.device)));
      const volume = drive?.volumes.find(({ device }) => isSameDevice(device, place.device));
      // No list, or none of its drives: what the volume's own sectors say has to do, and they tell too that it is one
      // of this computer, and no share.
      if (volume === undefined)
        return readHead(place.device) === undefined
          ? undefined
          : { ...place, osType: 'fat', readOnly: false, readsDirect: false };
      return {
        ...place,
        osType: volume.fileSystem === 'unknown' ? 'fat' : volume.fileSystem,
        // The switch on a stick is the drive's, a policy may be the volume's.
        readOnly: volume.readOnly === true || drive?.readOnly === true,
        readsDirect: true,
      };
    },
  };
}

type Fields = Readonly<Record<string, unknown>>;

/** Drives from what the storage script answers, with what each holds of the places IN USE. */
export function parseStorage(all: unknown, inUse: readonly PlaceInUse[]): readonly Drive[] {
  const volumes = list(all, 'volumes');
  const partitions = list(all, 'partitions');
  return list(all, 'disks').map((disk) => {
    const own = partitions.filter((partition) => number(partition, 'DiskNumber') === number(disk, 'Number'));
    const here = inUse.filter(({ path }) => own.some((partition) => mountPointsOf(partition).some(isAbove(path))));
    const runsFromIt = flag(disk, 'IsBoot') === true || flag(disk, 'IsSystem') === true;
    const holds = [...new Set([...(runsFromIt ? ['the running system'] : []), ...here.map(({ what }) => what)])];
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
      holdsSystem: runsFromIt || here.some(({ isSystem }) => isSystem),
      readOnly: flag(disk, 'IsReadOnly'),
    };
    return {
      ...facts,
      sectorBytes: number(disk, 'LogicalSectorSize'),
      port: undefined,
      partitionTable: tableOf(text(disk, 'PartitionStyle')),
      volumes: own.map((partition) => toVolume(partition, volumeOf(partition, volumes))),
      holds,
      refusedBecause: refuseDrive(facts, holds),
    };
  });
}

/** Letters and paths are compared without case; a partition and its volume share one. */
function volumeOf(partition: Fields, volumes: readonly Fields[]): Fields {
  const letter = text(partition, 'DriveLetter');
  return volumes.find((volume) => letter !== undefined && text(volume, 'DriveLetter') === letter) ?? {};
}

/** Its letter, and folders of other volumes that lead to it; not the path that names the volume itself. */
function mountPointsOf(partition: Fields): readonly string[] {
  const letter = text(partition, 'DriveLetter');
  const own = letter === undefined ? [] : [`${letter.toUpperCase()}:\\`];
  const { AccessPaths: given } = partition;
  const paths = (Array.isArray(given) ? given : [given]).filter((one): one is string => typeof one === 'string');
  return [...new Set([...own, ...paths.filter((path) => /^[a-z]:\\./i.test(path))])];
}

/** Windows' names are compared without case. A path below a folder that leads to another volume counts for both. */
const isAbove =
  (path: string) =>
  (mountPoint: string): boolean => {
    const way = win32.relative(mountPoint, path);
    return way !== '..' && !way.startsWith('..\\') && !win32.isAbsolute(way);
  };

function toVolume(partition: Fields, volume: Fields): MountedVolume {
  const letter = text(partition, 'DriveLetter');
  return {
    device: letter === undefined ? `partition ${number(partition, 'PartitionNumber') ?? '?'}` : `${letter}:`,
    mountPoints: mountPointsOf(partition),
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
