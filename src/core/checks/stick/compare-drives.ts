import type { MountedVolume } from '../../model/drive.ts';
import type { JudgedDrive } from './judge-drive.ts';

/**
 * What became of a drive, or of a volume on one that stayed. A drive comes and goes together with its volumes. `before`
 * and `after` are the drive as it was and as it is; `changed` names the members that differ, for a `changed` alone.
 */
export interface DriveEvent {
  readonly kind: 'came' | 'went' | 'changed';
  readonly of: 'drive' | 'volume';
  readonly device: string;
  /** The device of the drive, also where this is about a volume of it. */
  readonly drive: string;
  readonly before: JudgedDrive | undefined;
  readonly after: JudgedDrive | undefined;
  readonly changed: readonly string[];
}

/** Not among them: free space, which moves with every file that is copied. */
const driveMembers = [
  'maker',
  'model',
  'serial',
  'bytes',
  'port',
  'removable',
  'usb',
  'readOnly',
  'partitionTable',
  'refusedBecause',
] as const;
const volumeMembers = ['fileSystem', 'label', 'bytes', 'clusterBytes', 'readOnly', 'mountPoints'] as const;

/** What happened between two lists: first what went, then what came and changed, each in the order of its list. */
export function compareDrives(before: readonly JudgedDrive[], after: readonly JudgedDrive[]): readonly DriveEvent[] {
  const gone = before.filter((drive) => !after.some((one) => isSame(one, drive)));
  return [
    ...gone.map((drive) => driveEvent('went', drive)),
    ...after.flatMap((drive) => {
      const earlier = before.find((one) => isSame(one, drive));
      return earlier === undefined ? [driveEvent('came', drive)] : compareDrive(earlier, drive);
    }),
  ];
}

/**
 * Another stick at the same name is another stick. What is told only a moment after plugging in does not make it one.
 */
function isSame(a: JudgedDrive, b: JudgedDrive): boolean {
  if (a.device !== b.device) return false;
  if (a.serial !== undefined && b.serial !== undefined) return a.serial === b.serial;
  return agree(a.maker, b.maker) && agree(a.model, b.model);
}

const agree = (a: string | undefined, b: string | undefined): boolean => a === undefined || b === undefined || a === b;

function driveEvent(kind: 'came' | 'went', drive: JudgedDrive): DriveEvent {
  const [before, after] = kind === 'went' ? [drive, undefined] : [undefined, drive];
  return { kind, of: 'drive', device: drive.device, drive: drive.device, before, after, changed: [] };
}

function compareDrive(before: JudgedDrive, after: JudgedDrive): readonly DriveEvent[] {
  const drive = after.device;
  const both = { drive, before, after };
  const changed = differing(before, after, driveMembers);
  const volumeIn = (list: readonly MountedVolume[], device: string) => list.find((one) => one.device === device);
  return [
    ...(changed.length > 0 ? [{ kind: 'changed', of: 'drive', device: drive, changed, ...both } as const] : []),
    ...before.volumes
      .filter(({ device }) => volumeIn(after.volumes, device) === undefined)
      .map(({ device }) => ({ kind: 'went', of: 'volume', device, changed: [], ...both }) as const),
    ...after.volumes.flatMap((volume): readonly DriveEvent[] => {
      const { device } = volume;
      const earlier = volumeIn(before.volumes, device);
      if (earlier === undefined) return [{ kind: 'came', of: 'volume', device, changed: [], ...both }];
      const members = differing(earlier, volume, volumeMembers);
      return members.length === 0 ? [] : [{ kind: 'changed', of: 'volume', device, changed: members, ...both }];
    }),
  ];
}

const differing = <Whole, Member extends keyof Whole & string>(a: Whole, b: Whole, members: readonly Member[]) =>
  members.filter((member) => textOf(a[member]) !== textOf(b[member]));

const textOf = (value: unknown): string => JSON.stringify(value) ?? '';
