import { describe, expect, it } from 'vitest';
import type { DriveFacts } from '../../../src/core/model/stick-facts.ts';
import { refuseTarget, type TargetPlace } from '../../../src/io/volume/refuse-target.ts';

const stick: DriveFacts = {
  device: '/dev/sdb',
  maker: undefined,
  model: undefined,
  serial: undefined,
  bytes: 16e9,
  removable: true,
  usb: true,
  holdsSystem: false,
  readOnly: false,
};
const system: DriveFacts = { ...stick, device: '/dev/sda', removable: false, usb: false, holdsSystem: true };

const folder = (path: string, more: Partial<TargetPlace> = {}): TargetPlace => ({
  kind: 'folder',
  path,
  mountPoint: '/',
  drive: system,
  driveRefusedBecause: undefined,
  home: '/home/u',
  platform: 'linux',
  ...more,
});
const onStick = (path: string, mountPoint = path): TargetPlace => folder(path, { mountPoint, drive: stick });
const windows = (path: string, drive: DriveFacts): TargetPlace =>
  folder(path, { mountPoint: path.slice(0, 3), drive, home: 'C:\\Users\\u', platform: 'win32' });

describe('a folder', { tags: ['only-the-stick'] }, () => {
  it.each([
    ['on the system drive, anywhere a person may offer', folder('/home/u/stick-test')],
    ['deeper in a shared folder', folder('/tmp/stick')],
    ['deeper in /var', folder('/var/tmp/stick')],
    ['in memory', folder('/dev/shm/stick', { mountPoint: '/dev/shm', drive: undefined })],
    ['that is a stick', onStick('/media/u/STICK')],
    ['that is a stick mounted at the top', onStick('/mnt')],
    ['that is a stick mounted at /run/media', onStick('/run/media/u/STICK')],
    ['in a stick', onStick('/media/u/STICK/sub', '/media/u/STICK')],
    [
      'on a network or a driver in user space, of which no drive is known',
      folder('/media/u/X', { mountPoint: '/media/u/X', drive: undefined }),
    ],
    ['that is a drive letter', windows('E:\\', stick)],
    [
      'that is a drive letter of which nothing is known, on a Windows with another one',
      { ...windows('E:\\', stick), drive: undefined, windows: 'C:\\Windows' },
    ],
    ["in the person's own files", windows('C:\\Users\\u\\stick test', system)],
    [
      'on macOS below Volumes',
      folder('/Volumes/STICK', { mountPoint: '/Volumes/STICK', drive: stick, platform: 'darwin' }),
    ],
  ])('%s may be written', (_, place) => {
    expect(refuseTarget(place)).toBeUndefined();
  });

  it.each([
    ['the root', folder('/'), 'it is the root of the system'],
    [
      'the root of a system of which no drive is known',
      folder('/', { drive: undefined }),
      'it is the root of the system',
    ],
    ['the home folder', folder('/home/u'), 'it is your home folder'],
    ['what the home folder lies in', folder('/home'), 'your home folder lies in it'],
    [
      'the home folder on a drive of its own',
      folder('/home/u', { mountPoint: '/home/u', drive: stick }),
      'it is your home folder',
    ],
    ['a folder of the system', folder('/usr/local/lib'), 'it is a folder of the operating system'],
    ['the boot partition', folder('/boot/efi', { mountPoint: '/boot/efi' }), 'it is a folder of the operating system'],
    [
      'a device folder',
      folder('/dev', { mountPoint: '/dev', drive: undefined }),
      'it is a folder of the operating system',
    ],
    [
      'a volume of the system drive',
      folder('/srv/data', { mountPoint: '/srv/data' }),
      'it is the root of a volume of the system drive',
    ],
    ['a shared folder itself', folder('/tmp'), 'it is a folder directly below the root of the system'],
    ['the Windows drive', windows('C:\\', system), 'it is the root of the system'],
    [
      'a drive letter of which nothing is known, nor where the system is',
      { ...windows('E:\\', stick), drive: undefined },
      'it is the root of the system',
    ],
    [
      'the letter of the system, of which nothing else is known',
      { ...windows('D:\\', stick), drive: undefined, windows: 'd:\\WINDOWS' },
      'it is the root of the system',
    ],
    [
      'the letter of the home folder, of which nothing else is known',
      { ...windows('C:\\', stick), drive: undefined, windows: 'D:\\Windows' },
      'your home folder lies in it',
    ],
    ['Windows, in any case', windows('c:\\WINDOWS\\Temp', system), 'it is a folder of the operating system'],
    ['all users', windows('C:\\Users', system), 'your home folder lies in it'],
    [
      'a folder at the top of the Windows drive',
      windows('C:\\Tools', system),
      'it is a folder directly below the root of the system',
    ],
    ['a macOS folder', folder('/Library/Fonts', { platform: 'darwin' }), 'it is a folder of the operating system'],
  ])('%s is never written', (_, place, reason) => {
    expect(refuseTarget(place)).toBe(reason);
  });
});

describe('a raw device', { tags: ['only-the-stick'] }, () => {
  const device = (more: Partial<TargetPlace>): TargetPlace =>
    folder('/dev/sdb', { kind: 'device', mountPoint: undefined, drive: stick, ...more });

  it('may be written where its drive may', () => {
    expect(refuseTarget(device({}))).toBeUndefined();
    expect(refuseTarget(device({ drive: system, driveRefusedBecause: 'it holds the system' }))).toBe(
      'it holds the system',
    );
    expect(refuseTarget(device({ drive: undefined }))).toBe('nothing is known of the drive behind it');
  });

  it('that is a file shown as one may be written, unless the system runs from it', () => {
    const loop = { ...stick, device: '/dev/loop0', usb: false, removable: false };
    const place = device({ path: '/dev/loop0', drive: loop, driveRefusedBecause: 'it is a file shown as a drive' });
    expect(refuseTarget(place)).toBeUndefined();
    expect(refuseTarget({ ...place, drive: { ...loop, holdsSystem: true } })).toBe('it is a file shown as a drive');
  });
});

it('an image file may be written', () => {
  expect(refuseTarget(folder('/home/u/stick.img', { kind: 'image' }))).toBeUndefined();
});
