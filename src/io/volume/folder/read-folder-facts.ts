import { type StatsFs, statSync } from 'node:fs';
import { statfs } from 'node:fs/promises';
import type {
  DriveFacts,
  OtherVolumes,
  Partition,
  PartitionTable,
  StickFacts,
} from '../../../core/model/stick-facts.ts';
import { ToolError } from '../../../core/model/tool-error.ts';
import { otherVolumesOn } from '../../../core/volume-format/audit/volumes-on-medium.ts';
import { type RecognisedVolume, recogniseVolume } from '../../../core/volume-format/boot-sector.ts';
import type { FatGeometry } from '../../../core/volume-format/fat-geometry.ts';
import { readOtherGeometry } from '../../../core/volume-format/fat-root.ts';
import { readPartitionTable } from '../../../core/volume-format/partition-table.ts';
import { isSameDevice, type Mount, nameFileSystem } from '../../drives/drive-source.ts';
import type { Drive, MountedVolume } from '../../drives/drives.ts';
import { readHead } from '../../drives/read-sectors-of.ts';
import { countFreeClusters, type FatHeadFacts, readFatHeadFacts, toSectorReader } from '../fat/read-fat-facts.ts';
import { openFileDevice } from '../file-device.ts';
import { deviceSectorBytes, type SectorDevice } from '../sector-device.ts';

export interface FolderPlace {
  /** As the person gave it. */
  readonly target: string;
  readonly root: string;
  readonly mount: Mount | undefined;
  readonly drive: Drive | undefined;
  /** As in `StickFacts`. */
  readonly driveUnlisted: string | undefined;
}

/** What the boot sector of the volume under a mounted folder says, where it may be read; else what the system says. */
export async function readFolderFacts(place: FolderPlace): Promise<StickFacts> {
  const { target, root, mount, drive, driveUnlisted } = place;
  const head = mount?.device === undefined ? undefined : readHead(mount.device);
  const seen = head === undefined ? undefined : recogniseVolume(head);
  const known = seen !== undefined && seen.fileSystem !== 'unknown' ? seen : undefined;
  const other = head === undefined || known === undefined ? undefined : readOtherGeometry(known.fileSystem, head);
  const fat = await headFactsOf(mount?.device, known?.fat);
  const space = await statfs(root);
  const listed = drive?.volumes.find(({ device }) => mount?.device !== undefined && isSameDevice(device, mount.device));
  const fromSystem = listed !== undefined && listed.fileSystem !== 'unknown' ? listed.fileSystem : undefined;
  const cluster = known?.fat?.clusterBytes ?? other?.clusterBytes;
  const isReadOnly = mount?.readOnly ?? false;
  const dirty = fat?.dirty ?? other?.dirty;
  return {
    target,
    kind: 'folder',
    fileSystem: known?.fileSystem ?? fromSystem ?? nameFileSystem(mount?.osType),
    fileSystemFrom: known === undefined ? 'operating-system' : 'boot-sector',
    ...(await mediumAround(mount?.device, drive, drive?.removable === true || root === mount?.mountPoint)),
    volumeBytes: volumeBytesOf(known, other?.volumeBytes, space),
    freeBytes: space.blocks > 0 ? space.bavail * space.bsize : await countFreeBytes(mount),
    clusterBytes: cluster ?? clusterFromSystem(mount, listed, space),
    sectorBytes: known?.fat?.sectorBytes ?? other?.sectorBytes,
    rootSlotsFree: fat?.rootSlotsFree,
    volumeLabel: fat?.label ?? listed?.label,
    volumeSerial: fat?.serial ?? other?.serial,
    readOnly: isReadOnly,
    // While a volume is mounted for writing its driver keeps the mark set, so the mark says nothing.
    dirty: isReadOnly ? dirty : undefined,
    mountPoint: mount?.mountPoint,
    drive: drive === undefined ? undefined : driveFactsOf(drive),
    driveUnlisted,
  };
}

/** COUNT is asked where the file system does not tell. */
export async function freeBytesAt(root: string, count: () => Promise<number>): Promise<number> {
  const { blocks, bavail, bsize } = await statfs(root);
  return blocks === 0 ? count() : bavail * bsize;
}

/** True where the file system does not tell. */
export async function fits(root: string, bytes: number): Promise<boolean> {
  const { blocks, bavail, bsize } = await statfs(root);
  return blocks === 0 || bytes <= bavail * bsize;
}

/** The free bytes of a FAT volume whose driver tells statfs nothing; 0 where the sectors cannot be read either. */
export async function countFreeBytes(mount: Mount | undefined): Promise<number> {
  const head = mount?.device === undefined ? undefined : readHead(mount.device);
  const fat = head === undefined ? undefined : recogniseVolume(head).fat;
  if (mount?.device === undefined || fat === undefined) return 0;
  const clusters = await askDevice(mount.device, fat, (device) => countFreeClusters(device, fat));
  return (clusters ?? 0) * fat.clusterBytes;
}

const headFactsOf = async (
  path: string | undefined,
  fat: FatGeometry | undefined,
): Promise<FatHeadFacts | undefined> =>
  path === undefined || fat === undefined ? undefined : askDevice(path, fat, (device) => readFatHeadFacts(device, fat));

/** What ASK finds on DEVICE; undefined for one that is shorter than its volume says, which cannot be asked further. */
async function askDevice<T>(
  path: string,
  fat: FatGeometry,
  ask: (device: SectorDevice) => T | Promise<T>,
): Promise<T | undefined> {
  // Windows reads whole sectors of a raw volume and nothing less.
  if (process.platform === 'win32' && fat.sectorBytes !== deviceSectorBytes) return undefined;
  const device = openFileDevice(path, 'read');
  try {
    return fat.totalSectors * fat.sectorBytes <= device.sizeBytes ? await ask(device) : undefined;
  } finally {
    await device.close();
  }
}

function volumeBytesOf(known: RecognisedVolume | undefined, stated: number | undefined, space: StatsFs): number {
  const fat = known?.fat;
  return fat === undefined ? (stated ?? space.blocks * space.bsize) : fat.totalSectors * fat.sectorBytes;
}

/** The kernel's own drivers give their cluster as the block size; a program behind FUSE gives anything. */
function clusterFromSystem(
  mount: Mount | undefined,
  listed: MountedVolume | undefined,
  space: StatsFs,
): number | undefined {
  if (listed?.clusterBytes !== undefined) return listed.clusterBytes;
  return mount === undefined || mount.osType.startsWith('fuse') ? undefined : space.bsize;
}

export type MediumAround = Pick<StickFacts, 'mediumBytes' | 'partitionTable' | 'partitions' | 'otherVolumes'>;

/**
 * What lies around the volume on VOLUME, a device: from the drive's sectors where they may be read, else what the
 * system lists. A folder on a computer's own disk is no stick (ISWHOLE is false), and what else is on that disk says
 * nothing.
 */
export async function mediumAround(
  volume: string | undefined,
  drive: Drive | undefined,
  isWhole = true,
): Promise<MediumAround> {
  const medium = drive?.device ?? volume;
  const mediumBytes = drive?.bytes ?? imageBytes(volume);
  const none: { table: PartitionTable; partitions: readonly Partition[] } = {
    table: drive?.partitionTable ?? 'unknown',
    partitions: [],
  };
  const head = medium === undefined || mediumBytes === undefined ? undefined : readHead(medium);
  const read = head === undefined || mediumBytes === undefined ? none : readPartitionTable(head, mediumBytes);
  const { table, partitions } = read.table === 'unknown' ? none : read;
  const others = isWhole && medium !== undefined ? await readOthers(medium, volume) : undefined;
  return {
    mediumBytes,
    partitionTable: table,
    partitions,
    otherVolumes: others ?? (isWhole ? listed(volume, drive) : undefined),
  };
}

async function readOthers(medium: string, volume: string | undefined): Promise<OtherVolumes | undefined> {
  const own = volume === undefined ? undefined : readHead(volume);
  if (own === undefined) return undefined;
  try {
    const device = openFileDevice(medium, 'read');
    try {
      return { from: 'sectors', volumes: otherVolumesOn(toSectorReader(device), own) };
    } finally {
      await device.close();
    }
  } catch (error) {
    if (!(error instanceof ToolError)) throw error;
    return undefined;
  }
}

function listed(volume: string | undefined, drive: Drive | undefined): OtherVolumes | undefined {
  if (drive === undefined || volume === undefined) return undefined;
  const others = drive.volumes.filter(({ device }) => !isSameDevice(device, volume));
  return {
    from: 'operating-system',
    volumes: others.map(({ device, fileSystem, bytes }) => ({ where: 'listed', number: device, fileSystem, bytes })),
  };
}

/** A program behind FUSE may serve an image file. */
function imageBytes(device: string | undefined): number | undefined {
  const stat = device === undefined ? undefined : statSync(device, { throwIfNoEntry: false });
  return stat?.isFile() ? stat.size : undefined;
}

export const driveFactsOf = ({
  device,
  maker,
  model,
  serial,
  bytes,
  removable,
  usb,
  holdsSystem,
  readOnly,
}: Drive): DriveFacts => ({
  device,
  maker,
  model,
  serial,
  bytes,
  removable,
  usb,
  holdsSystem,
  readOnly,
});
