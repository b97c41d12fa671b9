import { build, type PlistValue } from 'plist';
import { describe, expect, test } from 'vitest';
import type { Drive } from '../../../src/io/drives/drives.ts';
import { locatePlaces, parseMountInfo } from '../../../src/io/drives/linux-mounts.ts';
import { type BusDrive, listDrivesFrom } from '../../../src/io/drives/list-drives.ts';
import { macosDrivesBy } from '../../../src/io/drives/macos-drives.ts';
import { parseLsblk } from '../../../src/io/drives/parse-lsblk.ts';
import { findPlacesInUse, type PlaceInUse } from '../../../src/io/drives/places-in-use.ts';
import { parseStorage } from '../../../src/io/drives/windows-drives.ts';
import { refuseTarget } from '../../../src/io/volume/refuse-target.ts';

const own = { tags: ['only-the-stick'] };
const place = (path: string, what: string, isSystem = true): PlaceInUse => ({ path, what, isSystem });
const root = place('/', 'the running system');
const home = place('/Users/mk', 'your home folder');

/** Each drive with why it is refused. */
const refusals = (drives: readonly Drive[]): Readonly<Record<string, string | undefined>> =>
  Object.fromEntries(drives.map(({ device, refusedBecause }) => [device.replace('/dev/', ''), refusedBecause]));

type Disk = Readonly<Record<string, PlistValue>>;
interface Mac {
  readonly disks: Readonly<Record<string, Disk>>;
  /** What `diskutil list -plist` adds about disks that are made of others. */
  readonly listed?: readonly Disk[];
  /** The first column of `df -P` for each path. */
  readonly df: Readonly<Record<string, string>>;
}

/** diskutil and df of a made-up Mac, in the form of their answers (diskutil(8); keys from memory). */
async function onMac({ disks, listed = [], df }: Mac, places: readonly PlaceInUse[]) {
  const source = macosDrivesBy(async (program, [verb = '', second = '', device = '']) => {
    if (program === 'df') return `Filesystem 512-blocks Used Available Capacity Mounted on\n${df[second]} 1 1 1 1% /\n`;
    if (verb === 'list')
      return build({ AllDisks: Object.keys(disks), AllDisksAndPartitions: listed } as unknown as PlistValue);
    const name = device.replace('/dev/', '');
    const info = disks[name];
    if (info === undefined) throw new Error(`Could not find disk: ${name}`);
    return build({ DeviceNode: `/dev/${name}`, WholeDisk: !/s\d/.test(name), ...info } as unknown as PlistValue);
  });
  return source.listDrives(places);
}

const physical = (bus: string): Disk => ({
  BusProtocol: bus,
  Content: 'GUID_partition_scheme',
  RemovableMediaOrExternalDevice: bus === 'USB',
  TotalSize: 500e9,
  VirtualOrPhysical: 'Physical',
  WritableMedia: true,
});
const container = (stores: readonly string[]): Disk => ({
  APFSPhysicalStores: stores.map((APFSPhysicalStore) => ({ APFSPhysicalStore })) as unknown as PlistValue,
  BusProtocol: 'USB',
  Content: 'EF57347C-0000-11AA-AA11-00306543ECAC',
  RemovableMediaOrExternalDevice: true,
  TotalSize: 499e9,
  VirtualOrPhysical: 'Virtual',
  WritableMedia: true,
});
const part = (content: string): Disk => ({ BusProtocol: 'USB', Content: content, VirtualOrPhysical: 'Physical' });
const stick: Mac['disks'] = { disk4: physical('USB'), disk4s1: part('DOS_FAT_32') };
const internal: Mac['disks'] = {
  disk0: physical('PCI-Express'),
  disk0s2: part('Apple_APFS'),
  disk3: { ...container(['disk0s2']), BusProtocol: 'PCI-Express' },
  disk3s1s1: part('41504653-0000-11AA-AA11-00306543ECAC'),
};

describe('on a Mac', () => {
  const external: Mac['disks'] = {
    ...stick,
    ...internal,
    disk5: physical('USB'),
    disk5s2: part('Apple_APFS'),
    disk6: container(['disk5s2']),
    disk6s1: part('41504653-0000-11AA-AA11-00306543ECAC'),
  };

  test.each<[string, Mac]>([
    ['by its own answer', { disks: external, df: { '/': '/dev/disk3s1s1', '/Users/mk': '/dev/disk6s1' } }],
    [
      'by the list alone',
      {
        disks: { ...external, disk6: { ...container([]), APFSPhysicalStores: [] as unknown as PlistValue } },
        listed: [
          { DeviceIdentifier: 'disk6', APFSPhysicalStores: [{ DeviceIdentifier: 'disk5s2' }] as unknown as PlistValue },
        ],
        df: { '/': '/dev/disk3s1s1', '/Users/mk': '/dev/disk6s1' },
      },
    ],
  ])('the physical disk below the container that holds home is refused, %s', own, async (_, computer) => {
    const drives = await onMac(computer, [root, home]);
    expect(refusals(drives)).toEqual({
      disk0: 'it holds the running system',
      disk4: undefined,
      disk5: 'it holds your home folder',
    });
    // The container is no drive of its own; its volumes are shown where they lie.
    expect(drives.find(({ device }) => device === '/dev/disk5')?.volumes.map(({ device }) => device)).toEqual([
      '/dev/disk5s2',
      '/dev/disk6s1',
    ]);
  });

  test(
    'the system itself on an external container is followed as well, from a snapshot that no list has',
    own,
    async () => {
      const { disk3s1s1: _, ...disks } = external;
      const drives = await onMac({ disks, df: { '/': '/dev/disk6s1s1', '/Users/mk': '/dev/disk6s5' } }, [root, home]);
      expect(refusals(drives)).toEqual({
        disk0: 'it is not on the USB bus',
        disk4: undefined,
        disk5: 'it holds the running system, your home folder',
      });
    },
  );

  test('both stores of a Fusion drive are refused', own, async () => {
    const disks = {
      ...stick,
      disk5: physical('USB'),
      disk5s2: part('Apple_APFS'),
      disk7: physical('USB'),
      disk7s2: part('Apple_APFS'),
      disk8: container(['disk5s2', 'disk7s2']),
      disk8s1: part('Apple_APFS_Volume'),
    };
    const drives = await onMac({ disks, df: { '/': '/dev/disk8s1' } }, [root]);
    expect(refusals(drives)).toEqual({
      disk4: undefined,
      disk5: 'it holds the running system',
      disk7: 'it holds the running system',
    });
  });

  test('disks below disks are followed to the end, also where they go round in a circle', own, async () => {
    const disks = {
      ...stick,
      disk5: physical('USB'),
      disk5s2: part('Apple_CoreStorage'),
      disk6: container(['disk5s2']),
      disk7: container(['disk6s1', 'disk8']),
      disk8: container(['disk7']),
    };
    const drives = await onMac({ disks, df: { '/': '/dev/disk7s1' } }, [root]);
    expect(refusals(drives)).toEqual({ disk4: undefined, disk5: 'it holds the running system' });
  });

  test(
    'where a logical volume does not say what it is made of, every disk with such a part may be it',
    own,
    async () => {
      const disks = {
        ...stick,
        disk5: physical('USB'),
        disk5s2: part('Apple_CoreStorage'),
        disk6: { ...physical('USB'), CoreStorageLVUUID: 'A', Content: 'Apple_HFS' },
      };
      const [found] = [refusals(await onMac({ disks, df: { '/': '/dev/disk6' } }, [root]))];
      expect(found).toEqual({
        disk4: undefined,
        disk5: 'it holds perhaps the running system (the system does not tell which drive does)',
        disk6: 'it holds the running system',
      });
    },
  );

  test('where nobody says on which drive the system or home lies, none is offered', own, async () => {
    for (const df of [{ '/': '/dev/disk99s1' }, { '/': '' }]) {
      const found = refusals(await onMac({ disks: stick, df }, [root]));
      expect(found).toEqual({
        disk4: 'it holds perhaps the running system (the system does not tell which drive does)',
      });
    }
    const far = { '/': '/dev/disk3s1s1', '/Users/mk': '//mk@server/homes' };
    expect(refusals(await onMac({ disks: { ...stick, ...internal }, df: far }, [root, home]))).toMatchObject({
      disk4: undefined,
    });
  });

  test('the stick that the tool runs from is not offered, another is', own, async () => {
    const disks = { ...stick, ...internal, disk9: physical('USB'), disk9s1: part('DOS_FAT_32') };
    const df = { '/': '/dev/disk3s1s1', '/Volumes/TOOL/dist': '/dev/disk9s1' };
    const drives = await onMac({ disks, df }, [root, place('/Volumes/TOOL/dist', 'this tool', false)]);
    expect(refusals(drives)).toMatchObject({ disk4: undefined, disk9: 'it holds this tool' });
  });
});

describe('on Linux', () => {
  const lsblk = (rows: readonly object[]): string => JSON.stringify({ blockdevices: rows });
  const usb = (name: string, maj: string, more: object = {}): object => ({
    name,
    path: `/dev/${name}`,
    'maj:min': maj,
    type: 'disk',
    tran: 'usb',
    rm: true,
    ro: false,
    size: 16e9,
    ...more,
  });
  const found = (
    rows: readonly object[],
    mounts: string,
    places: readonly PlaceInUse[],
    loops: [string, string][] = [],
  ) => refusals(parseLsblk(lsblk(rows), locatePlaces(parseMountInfo(mounts), places, new Map(loops))));

  test('the stick below a live system is found through overlay, loop device and image', own, () => {
    const mounts = [
      '1 0 0:30 / / rw - overlay overlay rw,lowerdir=/run/live/rootfs/filesystem.squashfs/,upperdir=/run/live/overlay/rw',
      '2 1 0:31 / /run rw - tmpfs tmpfs rw',
      '3 2 8:1 / /run/live/medium ro - vfat /dev/sda1 ro',
      '4 2 7:0 / /run/live/rootfs/filesystem.squashfs ro - squashfs /dev/loop0 ro',
      '5 2 0:32 / /run/live/overlay rw - tmpfs tmpfs rw',
    ].join('\n');
    const rows = [usb('sda', '8:0', { children: [{ ...usb('sda1', '8:1'), type: 'part' }] }), usb('sdb', '8:16')];
    const file = '/run/live/medium/live/filesystem.squashfs';
    expect(found(rows, mounts, [root], [['/dev/loop0', file]])).toEqual({
      sda: 'it holds the running system, an image file that is in use as a drive',
      sdb: undefined,
    });
  });

  test('every member of a file system over several drives is found', own, () => {
    const mounts = '1 0 0:30 / / rw - btrfs /dev/sda1 rw\n2 1 0:31 / /home rw - zfs tank/home rw';
    const rows = [
      usb('sda', '8:0', { fstype: 'btrfs', uuid: 'one', mountpoints: ['/'] }),
      usb('sdb', '8:16', { fstype: 'btrfs', uuid: 'one', mountpoints: [null] }),
      usb('sdc', '8:32', { fstype: 'zfs_member', label: 'tank', mountpoints: [null] }),
      usb('sdd', '8:48', { fstype: 'zfs_member', label: 'other', mountpoints: [null] }),
      usb('sde', '8:64', { fstype: 'vfat', uuid: 'one', mountpoints: [null] }),
    ];
    expect(found(rows, mounts, [root, place('/home/mk', 'your home folder')])).toEqual({
      sda: 'it holds the running system',
      sdb: 'it holds the running system',
      sdc: 'it holds your home folder',
      sdd: undefined,
      sde: undefined,
    });
  });

  test('a stick with the tool is not erased, and may be written as a folder', own, () => {
    const mounts = '1 0 254:0 / / rw - ext4 /dev/vda1 rw\n2 1 8:1 / /media/mk/TOOL rw - vfat /dev/sda1 rw';
    const rows = [usb('sda', '8:0', { children: [{ ...usb('sda1', '8:1'), type: 'part' }] })];
    const inUse = [root, place('/media/mk/TOOL/stickwright/dist', 'this tool', false)];
    const located = locatePlaces(parseMountInfo(mounts), inUse, new Map());
    const [drive] = parseLsblk(lsblk(rows), located);
    expect(drive).toMatchObject({ refusedBecause: 'it holds this tool', holdsSystem: false });
    const asked = { drive, driveRefusedBecause: drive?.refusedBecause, holds: drive?.holds, home: '/home/mk' } as const;
    const ask = (kind: 'device' | 'folder', path: string): string | undefined =>
      refuseTarget({ ...asked, kind, path, mountPoint: '/media/mk/TOOL', platform: 'linux' });
    expect(ask('device', '/dev/sda')).toBe('it holds this tool');
    expect(ask('folder', '/media/mk/TOOL')).toBeUndefined();
  });

  test('a bus that is not told is not USB, whatever else speaks for a stick', own, () => {
    const rows = [usb('sda', '8:0', { tran: null, hotplug: true }), usb('sdb', '8:16', { tran: 'unknown' })];
    expect(found(rows, '1 0 254:0 / / rw - ext4 /dev/vda1 rw', [root])).toEqual({
      sda: 'the operating system does not say that it is on the USB bus',
      sdb: 'it is not on the USB bus',
    });
  });
});

describe('on Windows', () => {
  const disk = (number: number, BusType: string | null) => ({
    Number: number,
    BusType,
    Size: 16e9,
    IsBoot: false,
    IsSystem: false,
  });
  const storage = (partitions: readonly object[]) => ({
    disks: [disk(1, 'USB'), disk(2, 'USB'), disk(3, 'Unknown')],
    partitions,
    volumes: [],
  });
  const refused = (partitions: readonly object[], places: readonly PlaceInUse[]) =>
    parseStorage(storage(partitions), places).map(({ refusedBecause }) => refusedBecause);

  test('a drive is known by its letters and by the folders that lead to it', own, () => {
    const partitions = [
      { DiskNumber: 1, PartitionNumber: 1, DriveLetter: 'e', AccessPaths: ['E:\\', '\\\\?\\Volume{1}\\'] },
      { DiskNumber: 2, PartitionNumber: 1, DriveLetter: '', AccessPaths: 'C:\\Users\\mk\\' },
    ];
    const places = [
      place('E:\\stickwright\\dist', 'this tool', false),
      place('c:\\users\\MK\\work', 'your home folder'),
    ];
    expect(refused(partitions, places)).toEqual([
      'it holds this tool',
      'it holds your home folder',
      'the operating system does not say that it is on the USB bus',
    ]);
    const [first, second] = parseStorage(storage(partitions), places);
    expect([first?.holdsSystem, second?.holdsSystem]).toEqual([false, true]);
    expect(second?.volumes[0]?.mountPoints).toEqual(['C:\\Users\\mk\\']);
  });
});

describe('where only the bus library answers', () => {
  const bus = (device: string, mountPoint: string, more: Partial<BusDrive> = {}): BusDrive => ({
    device,
    description: 'Acme',
    size: 16e9,
    isRemovable: true,
    isUSB: true,
    busType: 'USB',
    isSystem: false,
    isReadOnly: false,
    mountpoints: [{ path: mountPoint, label: null }],
    partitionTableType: 'mbr',
    ...more,
  });
  const asked = async (drives: readonly BusDrive[], inUse: readonly PlaceInUse[]) =>
    refusals(await listDrivesFrom({ platform: 'win32', source: undefined, listBusDrives: async () => drives, inUse }));
  const windows = place('C:\\Windows', 'the running system');

  test('a drive that holds home or the tool is refused as well', own, async () => {
    const drives = [bus('0', 'C:\\', { isUSB: false }), bus('1', 'E:\\'), bus('2', 'F:\\')];
    expect(await asked(drives, [windows, place('E:\\tool', 'this tool', false)])).toEqual({
      '0': 'it holds the running system',
      '1': 'it holds this tool',
      '2': undefined,
    });
  });

  test('a bus whose name is not known is not USB', own, async () => {
    const drives = [
      bus('0', 'C:\\'),
      ...['UNKNOWN', '', null, 'SCSI'].map((busType, at) => bus(`${at + 1}`, '', { busType })),
    ];
    const { '0': _, ...others } = await asked(drives, [windows]);
    expect(new Set(Object.values(others))).toEqual(
      new Set(['the operating system does not say that it is on the USB bus']),
    );
  });

  test('none is offered where the system is on none of them', own, async () => {
    const found = await asked([bus('1', 'E:\\')], [windows]);
    expect(found['1']).toBe('it holds perhaps the running system (nothing tells which drive does)');
  });
});

describe('what is in use', () => {
  test(
    'is the system, home, this folder, the tool, its Node, and what the desk and the command name',
    own,
    async () => {
      const environment = {
        STICKWRIGHT_SHELF: '/',
        STICKWRIGHT_FAMILIES: '/etc:/usr',
        STICKWRIGHT_ROUND: '/not/made/yet',
      };
      const places = await findPlacesInUse(['/var'], environment, 'linux');
      const named = (what: string) => places.filter((one) => one.what === what).map(({ path }) => path);
      expect(named('the running system')).toContain('/');
      expect(named('the folder you work in')).toEqual([process.cwd()]);
      expect(named('this tool').some((path) => path.endsWith('src/io/drives'))).toBe(true);
      expect(named('the Node that runs this tool').length).toBe(1);
      expect(named('your shelf')).toContain('/');
      expect(named('your panel families')).toEqual(expect.arrayContaining(['/etc', '/usr']));
      expect(named('your round')).toEqual(['/']);
      expect(named('what the command was given to read')).toEqual(['/var']);
      expect(new Set(places.filter(({ isSystem }) => isSystem).map(({ what }) => what))).toEqual(
        new Set(['the running system', 'your home folder']),
      );
    },
  );
});
