import type { PartitionTable } from '../../../core/model/stick-facts.ts';
import type { Drive, MountedVolume } from '../drives.ts';
import { nameFileSystem } from '../name-file-system.ts';
import { refuseDrive } from '../refuse-drive.ts';

/** A row of `lsblk --json`; which fields there are, and whether a number is one, depends on its version. */
type Row = Readonly<Record<string, unknown>>;

/** Which devices hold the running system: `major:minor` numbers and mount points. */
export interface SystemPlaces {
  readonly deviceNumbers: ReadonlySet<string>;
  readonly mountPoints: ReadonlySet<string>;
}

/** Drives from `lsblk --json --bytes --output-all` (util-linux, lsblk(8)); rows without a size are no drives. */
export function parseLsblk(json: string, system: SystemPlaces): readonly Drive[] {
  const parsed: unknown = JSON.parse(json);
  return rowsOf(parsed, 'blockdevices')
    .filter((row) => ['disk', 'loop', 'rom'].includes(text(row, 'type') ?? '') && !/(^|\/)z?ram\d/.test(pathOf(row)))
    .filter((row) => text(row, 'type') === 'disk' || (number(row, 'size') ?? 0) > 0)
    .map((row) => toDrive(row, system));
}

function toDrive(row: Row, system: SystemPlaces): Drive {
  const everything = [row, ...descendants(row)];
  const transport = text(row, 'tran');
  const isLoop = text(row, 'type') === 'loop';
  const removable = flag(row, 'rm');
  const facts = {
    device: pathOf(row),
    maker: nameOf(row, 'vendor'),
    model: nameOf(row, 'model'),
    serial: text(row, 'serial'),
    bytes: number(row, 'size'),
    // HOTPLUG covers sticks that call themselves fixed: it says that the bus lets the drive be pulled.
    removable: removable === true || flag(row, 'hotplug') === true ? true : removable,
    usb: transport === undefined ? (isLoop ? false : undefined) : transport === 'usb',
    holdsSystem: everything.some((one) => isSystem(one, system)),
    readOnly: flag(row, 'ro'),
  };
  const partitions = rowsOf(row, 'children').filter((child) => text(child, 'type') === 'part');
  const own = toVolume(row);
  // A volume in the first sector beside a table: some readers take that one.
  const isBoth = partitions.length > 0 && own.fileSystem !== 'unknown';
  const volumes = [...partitions.map(toVolume), ...(partitions.length === 0 || isBoth ? [own] : [])];
  return {
    ...facts,
    port: undefined,
    partitionTable: tableOf(row, partitions.length > 0, volumes),
    volumes: volumes.filter(
      (volume) => partitions.length > 0 || volume.fileSystem !== 'unknown' || volume.mountPoints.length > 0,
    ),
    refusedBecause:
      isLoop && !facts.holdsSystem ? 'it is a file shown as a drive, not a USB drive' : refuseDrive(facts),
  };
}

function isSystem(row: Row, system: SystemPlaces): boolean {
  if (system.deviceNumbers.has(text(row, 'maj:min') ?? '')) return true;
  return mountPointsOf(row).some((point) => point === '[SWAP]' || system.mountPoints.has(point));
}

function tableOf(row: Row, hasPartitions: boolean, volumes: readonly MountedVolume[]): PartitionTable {
  const table = text(row, 'pttype');
  if (table === 'dos') return 'mbr';
  if (table === 'gpt') return 'gpt';
  // Without udev the field is empty although there may be a table.
  return !hasPartitions && volumes[0]?.fileSystem !== 'unknown' ? 'none' : 'unknown';
}

function toVolume(row: Row): MountedVolume {
  return {
    device: pathOf(row),
    mountPoints: mountPointsOf(row),
    fileSystem: nameFileSystem(text(row, 'fstype'), text(row, 'fsver')),
    label: text(row, 'label'),
    bytes: number(row, 'size'),
    freeBytes: number(row, 'fsavail'),
    clusterBytes: undefined,
    sectorBytes: undefined,
    readOnly: flag(row, 'ro'),
  };
}

function descendants(row: Row): readonly Row[] {
  return rowsOf(row, 'children').flatMap((child) => [child, ...descendants(child)]);
}

function rowsOf(holder: unknown, field: string): readonly Row[] {
  const rows = isRow(holder) ? holder[field] : undefined;
  return Array.isArray(rows) ? rows.filter(isRow) : [];
}

const isRow = (value: unknown): value is Row => typeof value === 'object' && value !== null && !Array.isArray(value);

/** Before util-linux 2.37 there is one `mountpoint`; an unmounted volume has a null. */
function mountPointsOf(row: Row): readonly string[] {
  const several = row.mountpoints;
  const points = Array.isArray(several) ? several : [row.mountpoint];
  return points.filter((point): point is string => typeof point === 'string' && point !== '');
}

const pathOf = (row: Row): string => text(row, 'path') ?? `/dev/${text(row, 'kname') ?? text(row, 'name') ?? ''}`;

function text(row: Row, field: string): string | undefined {
  const value = row[field];
  return typeof value === 'string' ? value.trim() || undefined : undefined;
}

/** A bus number such as `0x1af4` is nobody's name. */
function nameOf(row: Row, field: string): string | undefined {
  const name = text(row, field);
  return name === undefined || /^0x[0-9a-f]+$/i.test(name) ? undefined : name;
}

function number(row: Row, field: string): number | undefined {
  const value = row[field];
  const parsed = typeof value === 'string' && value !== '' ? Number(value) : value;
  return typeof parsed === 'number' && Number.isFinite(parsed) ? parsed : undefined;
}

/** `true`, or `"1"` before util-linux 2.33. */
function flag(row: Row, field: string): boolean | undefined {
  const value = row[field];
  if (typeof value === 'boolean') return value;
  return value === '1' || value === '0' ? value === '1' : undefined;
}
