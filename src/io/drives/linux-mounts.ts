import { dirname } from 'node:path';
import type { PlaceInUse } from './places-in-use.ts';

export interface MountRow {
  /** `major:minor`, as the kernel names the device. */
  readonly deviceNumber: string;
  readonly mountPoint: string;
  readonly osType: string;
  readonly source: string;
  readonly readOnly: boolean;
  /** That a file was read is noted nowhere. */
  readonly noatime: boolean;
  /** What its file system was told, the folders of an overlay's layers among it. */
  readonly superOptions: readonly string[];
}

/**
 * Linux Documentation/filesystems/proc.rst, section 3.5: fields before and after a lone `-`, spaces as octal escapes.
 */
export function parseMountInfo(text: string): readonly MountRow[] {
  return text.split('\n').flatMap((line) => {
    const fields = line.split(' ');
    const dash = fields.indexOf('-', 6);
    const [, , deviceNumber, , mountPoint, options] = fields;
    const [osType, source, superOptions] = fields.slice(dash + 1);
    if (dash < 0 || deviceNumber === undefined || mountPoint === undefined || osType === undefined) return [];
    return {
      deviceNumber,
      mountPoint: decodeField(mountPoint),
      osType,
      source: decodeField(source ?? ''),
      readOnly: isReadOnly(options) || isReadOnly(superOptions),
      noatime: options?.split(',').includes('noatime') ?? false,
      superOptions: decodeField(superOptions ?? '').split(','),
    };
  });
}

const isReadOnly = (options: string | undefined): boolean => options?.split(',').includes('ro') ?? false;

/**
 * Each byte of a name that is not plain stands as three octal digits, so the bytes are put together before UTF-8 is
 * read.
 */
function decodeField(field: string): string {
  if (!field.includes('\\')) return field;
  const bytes = field
    .match(/\\[0-7]{3}|[^\\]+|\\/g)
    ?.map((part) =>
      part.length === 4 && part.startsWith('\\') ? Buffer.from([Number.parseInt(part.slice(1), 8)]) : Buffer.from(part),
    );
  return Buffer.concat(bytes ?? []).toString('utf8');
}

/**
 * The mount that PATH (absolute, free of links) lies in: the longest mount point above it, the last one where several
 * are stacked.
 */
export function findMount(rows: readonly MountRow[], path: string): MountRow | undefined {
  let best: MountRow | undefined;
  for (const row of rows) {
    const folder = row.mountPoint === '/' ? '/' : `${row.mountPoint}/`;
    const holds = path === row.mountPoint || path.startsWith(folder);
    if (holds && (best === undefined || row.mountPoint.length >= best.mountPoint.length)) best = row;
  }
  return best;
}

/** Where something in use lies, by all that lsblk's rows can be known by. */
export interface LocatedPlace extends Pick<PlaceInUse, 'what' | 'isSystem'> {
  /** `major:minor` of the file system; some make one up (btrfs, overlayfs), which no drive has. */
  readonly deviceNumber: string;
  readonly mountPoint: string;
  /** Pool of a ZFS file system, which mountinfo names and whose members carry it as their label. */
  readonly pool: string | undefined;
}

/** Image files behind loop devices, by the device's path (`/sys/block/loopN/loop/backing_file`). */
export type LoopFiles = ReadonlyMap<string, string>;

/** Layers upon layers are followed this far. */
const mostLayers = 8;

/**
 * The mounts that PLACES lie on, and those under them: an overlay's layers (Linux
 * Documentation/filesystems/overlayfs.rst), the image file behind a loop device, the image that a program serves. A
 * live system's `/` is all of these at once, and at the end of them lies the stick it runs from.
 */
export function locatePlaces(
  rows: readonly MountRow[],
  places: readonly PlaceInUse[],
  loops: LoopFiles,
): readonly LocatedPlace[] {
  const inLoops = [...loops.values()].map((path) => ({
    path,
    what: 'an image file that is in use as a drive',
    isSystem: false,
  }));
  return [...places, ...inLoops].flatMap((place) => locate(rows, place, loops, mostLayers));
}

function locate(
  rows: readonly MountRow[],
  place: PlaceInUse,
  loops: LoopFiles,
  layers: number,
): readonly LocatedPlace[] {
  const row = findMount(rows, place.path);
  if (row === undefined || layers === 0) return [];
  const { what, isSystem } = place;
  const { deviceNumber, mountPoint, osType, source } = row;
  const pool = osType === 'zfs' ? source.split('/')[0] : undefined;
  const below = pathsUnder(row, loops).filter((path) => findMount(rows, path) !== row);
  return [
    { what, isSystem, deviceNumber, mountPoint, pool },
    ...below.flatMap((path) => locate(rows, { path, what, isSystem }, loops, layers - 1)),
  ];
}

function pathsUnder({ osType, source, superOptions }: MountRow, loops: LoopFiles): readonly string[] {
  if (osType === 'overlay') {
    const named = superOptions.flatMap(
      (option) => /^(?:lowerdir|lowerdir\+|datadir\+|upperdir)=(.*)$/.exec(option)?.[1] ?? [],
    );
    return named.flatMap((list) => list.split(/(?<!\\):+/)).filter((path) => path.startsWith('/'));
  }
  const file = loops.get(source);
  if (file !== undefined) return [file];
  return osType.startsWith('fuse') && source.startsWith('/') && !source.startsWith('/dev/') ? [dirname(source)] : [];
}
