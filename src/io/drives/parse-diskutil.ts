import { parse } from 'plist';
import type { DriveFacts, PartitionTable } from '../../core/model/stick-facts.ts';
import { type Mount, nameFileSystem } from './drive-source.ts';
import type { MountedVolume } from './drives.ts';

/** `diskutil info -plist` of a whole disk or of a volume (diskutil(8); keys from memory of its output). */
export interface DiskInfo {
  readonly device: string;
  readonly isWhole: boolean;
  /** Made of other disks, or of a file: no drive of its own. */
  readonly isVirtual: boolean;
  /** A disk image: a file shown as a disk. */
  readonly isImage: boolean;
  readonly content: string | undefined;
  /** Devices that it is made of, as far as it says. */
  readonly stores: readonly string[];
  readonly facts: Omit<DriveFacts, 'holdsSystem'>;
  readonly table: PartitionTable;
  readonly volume: MountedVolume;
  readonly mount: Mount | undefined;
}

/** Device paths of disks that are made of others, each with the devices it is made of. */
export type DiskStores = readonly (readonly [string, readonly string[]])[];

/**
 * `diskutil list -plist`: device names, whole disks before their parts, and what disks are made of
 * (APFSPhysicalStores).
 */
export function parseDiskList(plist: string): { readonly names: readonly string[]; readonly stores: DiskStores } {
  const { AllDisks: all, AllDisksAndPartitions: disks } = fields(parse(plist));
  return {
    names: list(all).filter((name): name is string => typeof name === 'string'),
    stores: list(disks).flatMap((disk): DiskStores => {
      const name = text(fields(disk), 'DeviceIdentifier');
      return name === undefined ? [] : [[`/dev/${name}`, storesIn(disk)]];
    }),
  };
}

/**
 * Every device that is named below a key for what a disk is made of: `APFSPhysicalStores`, `PhysicalStores` and
 * `DesignatedPhysicalStore` of APFS and Fusion, physical volumes of CoreStorage, members of a RAID set. The keys are
 * from memory; what such a key names is protected, whatever it is exactly.
 */
function storesIn(value: unknown, isStore = false): readonly string[] {
  if (typeof value === 'string') return isStore && /^(\/dev\/)?disk\d+(s\d+)*$/.test(value) ? [toPath(value)] : [];
  if (Array.isArray(value)) return value.flatMap((one) => storesIn(one, isStore));
  return Object.entries(fields(value)).flatMap(([key, inner]) =>
    storesIn(inner, isStore || /PhysicalStore|PhysicalVolume|Member/i.test(key)),
  );
}

const toPath = (name: string): string => (name.startsWith('/dev/') ? name : `/dev/${name}`);

export function parseDiskInfo(plist: string): DiskInfo {
  const info = fields(parse(plist));
  const device = text(info, 'DeviceNode') ?? '';
  const bus = text(info, 'BusProtocol');
  const content = text(info, 'Content');
  const stores = storesIn(info);
  const isLogical = Object.keys(info).some((key) => key.startsWith('CoreStorageLV'));
  const isVirtual = text(info, 'VirtualOrPhysical') === 'Virtual' || isLogical || stores.length > 0;
  const mountPoint = text(info, 'MountPoint');
  const writable = flag(info, 'WritableMedia');
  const osType = text(info, 'FilesystemType') ?? '';
  const volumeReadOnly = flag(info, 'WritableVolume') === false;
  return {
    device,
    isWhole: flag(info, 'WholeDisk') === true,
    isVirtual,
    isImage: bus === 'Disk Image',
    content,
    stores,
    facts: {
      device,
      maker: undefined,
      model: text(info, 'MediaName') ?? text(info, 'IORegistryEntryName'),
      serial: undefined,
      bytes: number(info, 'TotalSize') ?? number(info, 'Size'),
      removable: flag(info, 'RemovableMediaOrExternalDevice') ?? flag(info, 'RemovableMedia'),
      // What is made of others is not plugged in anywhere itself.
      usb: isVirtual ? false : bus === undefined ? undefined : bus === 'USB',
      readOnly: writable === undefined ? undefined : !writable,
    },
    table: tableOf(content),
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

const fields = (value: unknown): Fields =>
  typeof value === 'object' && value !== null && !Array.isArray(value) ? (value as Fields) : {};

const list = (value: unknown): readonly unknown[] => (Array.isArray(value) ? value : []);

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
