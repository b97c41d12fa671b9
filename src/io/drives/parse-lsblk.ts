import type { PartitionTable } from '../../core/model/stick-facts.ts';
import { nameFileSystem, refuseDrive } from './drive-source.ts';
import type { Drive, MountedVolume } from './drives.ts';
import type { LocatedPlace } from './linux-mounts.ts';

/** A row of `lsblk --json`; which fields there are, and whether a number is one, depends on its version. */
type Row = Readonly<Record<string, unknown>>;

/** Drives from `lsblk --json --bytes --output-all` (util-linux, lsblk(8)); rows without a size are no drives. */
export function parseLsblk(json: string, inUse: readonly LocatedPlace[]): readonly Drive[] {
  const parsed: unknown = JSON.parse(json);
  const everything = rowsOf(parsed, 'blockdevices');
  const holding = makeHolding(
    everything.flatMap((row) => [row, ...descendants(row)]),
    inUse,
  );
  return everything
    .filter((row) => ['disk', 'loop', 'rom'].includes(text(row, 'type') ?? '') && !/(^|\/)z?ram\d/.test(pathOf(row)))
    .filter((row) => text(row, 'type') === 'disk' || (number(row, 'size') ?? 0) > 0)
    .map((row) => toDrive(row, holding));
}

function toDrive(row: Row, holding: Holding): Drive {
  const held = [row, ...descendants(row)].flatMap(holding);
  const holds = [...new Set(held.map(({ what }) => what))];
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
    holdsSystem: held.some(({ isSystem }) => isSystem),
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
    holds,
    refusedBecause:
      isLoop && holds.length === 0 ? 'it is a file shown as a drive, not a USB drive' : refuseDrive(facts, holds),
  };
}

type Held = Pick<LocatedPlace, 'what' | 'isSystem'>;
type Holding = (row: Row) => readonly Held[];

/** Several drives under one file system show it at one of them only; they share its UUID. */
const overSeveral = new Set(['btrfs', 'bcachefs']);

/** What a row holds of the places in use. */
function makeHolding(rows: readonly Row[], inUse: readonly LocatedPlace[]): Holding {
  const bySelf = (row: Row): readonly Held[] => {
    const points = mountPointsOf(row);
    const number = text(row, 'maj:min');
    const pool = text(row, 'fstype') === 'zfs_member' ? text(row, 'label') : undefined;
    const swapped = points.includes('[SWAP]') ? [{ what: 'memory of the running system', isSystem: true }] : [];
    const found = inUse.filter(
      (place) =>
        place.deviceNumber === number ||
        points.includes(place.mountPoint) ||
        (pool !== undefined && place.pool === pool),
    );
    return [...found, ...swapped];
  };
  const uuidOf = (row: Row): string | undefined =>
    overSeveral.has(text(row, 'fstype') ?? '') ? text(row, 'uuid') : undefined;
  const shared = new Map<string, readonly Held[]>();
  for (const row of rows) {
    const uuid = uuidOf(row);
    if (uuid !== undefined) shared.set(uuid, [...(shared.get(uuid) ?? []), ...bySelf(row)]);
  }
  return (row) => [...bySelf(row), ...(shared.get(uuidOf(row) ?? '') ?? [])];
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
