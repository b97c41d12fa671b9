import { readFileSync } from 'node:fs';
import { describe, expect, it } from 'vitest';
import { nameFileSystem } from '../../../src/io/drives/drive-source.ts';
import { findUsbPort } from '../../../src/io/drives/linux-drives.ts';
import { findMount, type LocatedPlace, parseMountInfo } from '../../../src/io/drives/linux-mounts.ts';
import { parseDiskInfo, parseDiskList } from '../../../src/io/drives/parse-diskutil.ts';
import { parseLsblk } from '../../../src/io/drives/parse-lsblk.ts';
import { parseStorage } from '../../../src/io/drives/windows-drives.ts';

/**
 * Written after the documents of each program; only what Linux says here has also been seen from the program itself.
 */
const recorded = (name: string): string => readFileSync(new URL(`recorded/${name}`, import.meta.url), 'utf8');
const at = (deviceNumber: string, mountPoint: string): LocatedPlace => ({
  what: 'the running system',
  isSystem: true,
  deviceNumber,
  mountPoint,
  pool: undefined,
});
const system = [at('253:0', '/'), at('254:0', '/boot/efi')];

describe('lsblk', () => {
  const drives = parseLsblk(recorded('lsblk-2.39-udev.json'), system);
  const named = (device: string) => drives.find((drive) => drive.device === device);

  it('names drives, and leaves out memory, empty loop devices and parts', () => {
    expect(drives.map((drive) => drive.device)).toEqual([
      '/dev/nvme0n1',
      '/dev/sda',
      '/dev/sdb',
      '/dev/sdc',
      '/dev/sdd',
      '/dev/loop0',
    ]);
  });

  it('tells all of a stick', () => {
    expect(named('/dev/sda')).toEqual({
      device: '/dev/sda',
      holds: [],
      maker: 'Acme',
      model: 'Stick 32',
      serial: 'AA0001',
      bytes: 31_029_460_992,
      removable: true,
      usb: true,
      holdsSystem: false,
      readOnly: false,
      partitionTable: 'mbr',
      refusedBecause: undefined,
      volumes: [
        {
          device: '/dev/sda1',
          mountPoints: ['/media/u/PANELS'],
          fileSystem: 'fat32',
          label: 'PANELS',
          bytes: 31_028_412_416,
          freeBytes: 31_000_000_000,
          clusterBytes: undefined,
          readOnly: false,
        },
      ],
    });
  });

  it('takes a stick that calls itself fixed for one that can be pulled, and a volume without a table for what it is', () => {
    expect(named('/dev/sdb')).toMatchObject({
      removable: true,
      readOnly: true,
      partitionTable: 'none',
      refusedBecause: undefined,
      volumes: [{ device: '/dev/sdb', fileSystem: 'exfat', label: 'BIG', mountPoints: [] }],
    });
  });

  it('refuses all others, each for its own reason', () => {
    const reasons = ['/dev/nvme0n1', '/dev/sdc', '/dev/sdd', '/dev/loop0'].map(
      (device) => named(device)?.refusedBecause,
    );
    expect(reasons).toEqual([
      'it holds the running system',
      'there is no medium in it',
      'it is not on the USB bus',
      'it is a file shown as a drive, not a USB drive',
    ]);
  });

  it('finds the system behind encryption, and on a stick that it runs from', () => {
    const byNumber = parseLsblk(recorded('lsblk-2.39-udev.json'), [at('8:1', '/nowhere')]);
    expect(byNumber.find((drive) => drive.device === '/dev/sda')).toMatchObject({
      holdsSystem: true,
      usb: true,
      removable: true,
    });
    expect(byNumber.find((drive) => drive.device === '/dev/sda')?.refusedBecause).toContain('running system');
  });

  it('reads what older versions print without udev: text for numbers and flags, one mount point', () => {
    expect(parseLsblk(recorded('lsblk-2.27-no-udev.json'), system)).toMatchObject([
      {
        device: '/dev/sda',
        bytes: 16_008_609_792,
        removable: true,
        usb: true,
        readOnly: false,
        partitionTable: 'unknown',
        volumes: [{ device: '/dev/sda1', fileSystem: 'unknown', mountPoints: ['/media/stick'] }],
      },
      { device: '/dev/vda', maker: undefined, usb: undefined, removable: false, holdsSystem: true },
    ]);
  });
});

describe('the kernel path of a drive', () => {
  // Form: Linux Documentation/ABI/stable/sysfs-bus-usb; the paths are from memory of such computers.
  it.each([
    ['/sys/devices/pci0000:00/0000:00:14.0/usb1/1-2/1-2:1.0/host0/target0:0:0/0:0:0:0/block/sda', '1-2'],
    ['/sys/devices/pci0000:00/0000:00:14.0/usb2/2-4/2-4.1/2-4.1:1.0/host6/target6:0:0/6:0:0:0/block/sdb', '2-4.1'],
    ['/sys/devices/pci0000:00/0000:00:1d.0/0000:01:00.0/nvme/nvme0/nvme0n1', undefined],
    ['/sys/devices/virtual/block/loop0', undefined],
    ['', undefined],
  ])('%s leads through port %s', (path, port) => {
    expect(findUsbPort(path)).toBe(port);
  });
});

describe('mountinfo', () => {
  const rows = parseMountInfo(recorded('mountinfo.txt'));

  it('undoes the escapes of names, byte by byte', () => {
    expect(rows.map((row) => row.mountPoint)).toContain('/media/u/PANELS A');
    expect(rows.map((row) => row.mountPoint)).toContain('/media/u/Prüf\\ung');
  });

  it.each([
    ['/media/u/PANELS A', '/dev/sda1', false],
    ['/media/u/PANELS A/firmware.zip', '/dev/sda1', false],
    ['/media/u/PANELS A/inner/x', '/dev/sdx', true],
    ['/media/u/PANELS A2', '/dev/mapper/root', false],
    ['/media/u/Prüf\\ung', '/dev/sdb1', true],
    ['/media/u/same', '/dev/sdy', false],
    ['/', '/dev/mapper/root', false],
  ])('finds the mount of %s', (path, source, readOnly) => {
    expect(findMount(rows, path)).toMatchObject({ source, readOnly });
  });
});

describe('diskutil', () => {
  it('lists disks', () => {
    expect(parseDiskList(recorded('diskutil-list.plist'))).toEqual({
      names: ['disk0', 'disk0s2', 'disk4', 'disk4s1'],
      stores: [],
    });
  });

  it('tells of a stick and its volume', () => {
    expect(parseDiskInfo(recorded('diskutil-stick.plist'))).toMatchObject({
      device: '/dev/disk4',
      isWhole: true,
      isVirtual: false,
      table: 'mbr',
      facts: { usb: true, removable: true, bytes: 31_029_460_992, readOnly: false, model: 'Stick 32 Media' },
      mount: undefined,
    });
    expect(parseDiskInfo(recorded('diskutil-volume.plist'))).toMatchObject({
      isWhole: false,
      volume: { fileSystem: 'fat32', label: 'PANELS A', clusterBytes: 16_384, readOnly: false },
      mount: {
        mountPoint: '/Volumes/PANELS A',
        device: '/dev/disk4s1',
        osType: 'msdos',
        readOnly: false,
        readsDirect: false,
      },
    });
  });
});

describe('the Windows storage script', () => {
  it('tells of a stick, and refuses the others', () => {
    const drives = parseStorage(JSON.parse(recorded('windows-storage.json')), [
      { path: 'C:\\Windows', what: 'the running system', isSystem: true },
      { path: 'd:\\work', what: 'the folder you work in', isSystem: false },
    ]);
    expect(drives.map((drive) => drive.refusedBecause?.split(',')[0])).toEqual([
      'it holds the running system',
      undefined,
      'it holds the folder you work in',
    ]);
    expect(drives[1]).toMatchObject({
      device: '\\\\.\\PhysicalDrive1',
      maker: 'Acme',
      serial: 'AA0001',
      usb: true,
      removable: true,
      partitionTable: 'mbr',
      volumes: [{ device: 'E:', mountPoints: ['E:\\'], fileSystem: 'fat32', label: 'PANELS', clusterBytes: 16_384 }],
    });
    expect(drives[2]?.volumes[1]).toMatchObject({ device: 'partition 2', mountPoints: [] });
  });

  it('reads a list of one, which PowerShell prints as the one', () => {
    const { disks, partitions, volumes } = JSON.parse(recorded('windows-storage.json'));
    expect(parseStorage({ disks: disks[1], partitions: partitions[1], volumes: volumes[1] }, [])).toHaveLength(1);
    expect(parseStorage({}, [])).toEqual([]);
  });
});

describe('the name of a file system', () => {
  it.each([
    ['vfat', undefined, 'unknown'], // which FAT it is, it does not say
    ['vfat', 'FAT32', 'fat32'],
    ['vfat', 'FAT12', 'fat12'],
    ['msdos', 'MS-DOS FAT16', 'fat16'],
    ['FAT32', undefined, 'fat32'],
    ['FAT', undefined, 'unknown'],
    ['exfat', '1.0', 'exfat'],
    ['exFAT', undefined, 'exfat'],
    ['NTFS', undefined, 'ntfs'],
    ['fuseblk', undefined, 'unknown'],
    ['ext4', '1.0', 'ext'],
    ['crypto_LUKS', '2', 'luks'],
    ['squashfs', '4.0', 'other'],
    [undefined, undefined, 'unknown'],
  ])('%s %s is %s', (word, version, name) => {
    expect(nameFileSystem(word, version)).toBe(name);
  });
});
