import { type PlistValue, parse } from 'plist';
import type { DriveFacts, PartitionTable } from '../../../core/model/stick-facts.ts';
import type { Mount } from '../drive-source.ts';
import type { MountedVolume } from '../drives.ts';
import { nameFileSystem } from '../name-file-system.ts';

/** `diskutil info -plist` of a whole disk or of a volume (diskutil(8); keys from memory of its output). */
export interface DiskInfo {
  readonly device: string;
  readonly isWhole: boolean;
  readonly wholeDevice: string;
  readonly facts: Omit<DriveFacts, 'holdsSystem'>;
  readonly table: PartitionTable;
  readonly volume: MountedVolume;
  readonly mount: Mount | undefined;
}

/** Device names in `diskutil list -plist`, whole disks before their parts. */
export function parseDiskList(plist: string): readonly string[] {
  const all = fields(parse(plist)).AllDisks;
  return Array.isArray(all) ? all.filter((name): name is string => typeof name === 'string') : [];
}

export function parseDiskInfo(plist: string): DiskInfo {
  const info = fields(parse(plist));
  const device = text(info, 'DeviceNode') ?? '';
  const whole = text(info, 'ParentWholeDisk');
  const bus = text(info, 'BusProtocol');
  const mountPoint = text(info, 'MountPoint');
  const writable = flag(info, 'WritableMedia');
  const osType = text(info, 'FilesystemType') ?? '';
  const volumeReadOnly = flag(info, 'WritableVolume') === false;
  return {
    device,
    isWhole: flag(info, 'WholeDisk') === true,
    wholeDevice: whole === undefined ? device : `/dev/${whole}`,
    facts: {
      device,
      maker: undefined,
      model: text(info, 'MediaName') ?? text(info, 'IORegistryEntryName'),
      serial: undefined,
      bytes: number(info, 'TotalSize') ?? number(info, 'Size'),
      removable: flag(info, 'RemovableMediaOrExternalDevice') ?? flag(info, 'RemovableMedia'),
      usb: bus === undefined ? undefined : bus === 'USB',
      readOnly: writable === undefined ? undefined : !writable,
    },
    table: tableOf(text(info, 'Content')),
    volume: {
      device,
      mountPoints: mountPoint === undefined ? [] : [mountPoint],
      fileSystem: nameFileSystem(osType, text(info, 'FilesystemName')),
      label: text(info, 'VolumeName'),
      bytes: number(info, 'VolumeSize') ?? number(info, 'Size'),
      freeBytes: number(info, 'FreeSpace'),
      clusterBytes: number(info, 'VolumeAllocationBlockSize'),
      sectorBytes: undefined,
      readOnly: flag(info, 'WritableVolume') === undefined ? undefined : volumeReadOnly,
    },
    // Node cannot ask macOS to go around its cache: that is a call on an open file there (fcntl F_NOCACHE).
    mount:
      mountPoint === undefined
        ? undefined
        : { mountPoint, device, osType, readOnly: volumeReadOnly, readsDirect: false },
  };
}

function tableOf(content: string | undefined): PartitionTable {
  if (content === 'FDisk_partition_scheme') return 'mbr';
  return content === 'GUID_partition_scheme' ? 'gpt' : 'unknown';
}

type Fields = Readonly<Record<string, unknown>>;

const fields = (value: PlistValue): Fields =>
  typeof value === 'object' && value !== null && !Array.isArray(value) ? (value as unknown as Fields) : {};

const text = (info: Fields, key: string): string | undefined => {
  const value = info[key];
  return typeof value === 'string' ? value.trim() || undefined : undefined;
};
const number = (info: Fields, key: string): number | undefined => {
  const value = info[key];
  return typeof value === 'number' ? value : undefined;
};
const flag = (info: Fields, key: string): boolean | undefined => {
  const value = info[key];
  return typeof value === 'boolean' ? value : undefined;
};
