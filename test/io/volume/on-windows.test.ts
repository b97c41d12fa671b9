import { mkdirSync, rmSync, statSync } from 'node:fs';
import { join } from 'node:path';
import { describe, expect, it } from 'vitest';
import { targetOf } from '../../../src/core/report/name-targets.ts';
import { isSameDevice } from '../../../src/io/drives/drive-source.ts';
import { parseStorage } from '../../../src/io/drives/windows-drives.ts';
import { unlessHeld } from '../../../src/io/files/durable-files.ts';
import { toRoundError } from '../../../src/io/rounds/rounds.ts';
import { toShelfError } from '../../../src/io/shelf/shelf-folder.ts';
import { identifyStick } from '../../../src/io/volume/identify-stick.ts';
import { lockStick } from '../../../src/io/volume/lock-stick.ts';
import { isRawOnWindows, refuseRaw } from '../../../src/io/volume/look-at-target.ts';
import { notTheSameRoot, unknownOnWindows } from '../../../src/io/volume/unknown-on-windows.ts';
import { recordedDrive } from '../../fixtures/drives.ts';
import { bootSector } from '../../fixtures/volumes/boot-sector.ts';
import { makeScratch } from '../../fixtures/volumes/scratch.ts';
import { toolError } from './conformance/stand.ts';

// What Windows alone decides, with its answers given: Wine knows neither such media nor such refusals.
// `test/outside/windows.test.ts` runs the same as a Windows process, as far as Wine goes.

const systemError = (code: string): Error => Object.assign(new Error(`${code}: it failed`), { code });

const fat = bootSector({
  ...{ sectorBytes: 512, sectorsPerCluster: 8, reserved: 32, copies: 2 },
  ...{ rootSlots: 0, totalSectors: 2 ** 20, fatSectors: 1024 },
});

describe('UNKNOWN, for which libuv has no word', () => {
  const bitlocker = new Uint8Array(512);
  bitlocker.set(Buffer.from('-FVE-FS-'), 3);
  const cases = [
    ['pulled: the letter is gone', 'ENOENT', new Uint8Array(0), 'stick/gone'],
    ['not ready, no medium, ejected: not even the sectors', 'UNKNOWN', 'UNKNOWN', 'stick/not-ready'],
    ['not ready, and the sectors are not for this account', 'UNKNOWN', 'EPERM', 'stick/not-ready'],
    ['locked by encryption', 'UNKNOWN', bitlocker, 'stick/locked'],
    ['damaged: the root of a FAT volume is not read', 'UNKNOWN', fat, 'stick/damaged'],
    ['damaged: one file or folder is not read', undefined, new Uint8Array(0), 'stick/damaged'],
    ['no file system', 'UNKNOWN', new Uint8Array(512), 'stick/unsupported-file-system'],
  ] as const;
  it.each(cases)('%s', (_, root, head, code) => {
    const asked: string[] = [];
    const look = {
      root: (path: string) => {
        asked.push(path);
        return root;
      },
      head: (device: string) => {
        asked.push(device);
        return head;
      },
    };
    for (const path of ['f:\\images\\system.img', '\\\\.\\F:', '\\\\?\\F:\\x']) {
      const error = unknownOnWindows(path, 'images/system.img', systemError('UNKNOWN'), look);
      expect(error).toMatchObject({ ...toolError(code), subject: 'images/system.img' });
      expect(error?.todo).toMatch(/\.$/);
    }
    for (const one of asked) expect(['F:\\', '\\\\.\\F:']).toContain(one);
  });

  it('is left to others where no letter is named', () => {
    expect(unknownOnWindows('\\\\server\\share\\x', 'x', systemError('UNKNOWN'))).toBeUndefined();
    expect(unknownOnWindows('/dev/sdb', 'x', systemError('UNKNOWN'))).toBeUndefined();
  });

  it('under a letter another volume counts as another stick, and none as pulled', () => {
    const scratch = makeScratch();
    const [root, other] = [join(scratch.path, 'e'), join(scratch.path, 'other')];
    for (const path of [root, other]) mkdirSync(path);
    expect(notTheSameRoot(root, statSync(other), 'E:')).toMatchObject(toolError('stick/swapped'));
    const before = statSync(root);
    rmSync(root, { recursive: true });
    expect(notTheSameRoot(root, before, 'E:')).toMatchObject(toolError('stick/gone'));
    scratch.undo();
  });
});

describe('a name that another program holds', () => {
  const held = (times: number, code = 'EBUSY') => {
    let tries = 0;
    const pauses: number[] = [];
    const work = async () => {
      if (tries++ < times) throw systemError(code);
      return 'done';
    };
    const pause = async (ms: number) => void pauses.push(ms);
    return { work, pause, pauses, tries: () => tries };
  };

  it.each(['EBUSY', 'EPERM', 'EACCES', 'ENOTEMPTY'])('is tried again on Windows after %s', async (code) => {
    const one = held(3, code);
    expect(await unlessHeld(one.work, undefined, 'win32', one.pause)).toBe('done');
    expect(one.tries()).toBe(4);
  });

  it('is given up after 10 s, and at once elsewhere or for another reason', async () => {
    const forever = held(1000);
    await expect(unlessHeld(forever.work, undefined, 'win32', forever.pause)).rejects.toThrow('EBUSY');
    expect(forever.pauses.reduce((sum, ms) => sum + ms, 0)).toBe(10_000);
    const linux = held(1);
    await expect(unlessHeld(linux.work, undefined, 'linux', linux.pause)).rejects.toThrow('EBUSY');
    const other = held(1, 'ENOENT');
    await expect(unlessHeld(other.work, undefined, 'win32', other.pause)).rejects.toThrow('ENOENT');
    expect([linux.tries(), other.tries()]).toEqual([1, 1]);
  });
});

describe("a file of the desk's own that another program holds", () => {
  it.each([
    ['on the shelf', toShelfError, 'shelf/write-failed'],
    ['in the folder of a round', toRoundError, 'round/write-failed'],
  ] as const)('%s is told as that', (_, toError, code) => {
    const error = toError(systemError('EBUSY'), 'write', 'x');
    expect(error).toMatchObject({
      code,
      message: expect.stringContaining('another program holds it, a virus scanner'),
    });
    expect(toError(systemError('EIO'), 'write', 'x')).toMatchObject({
      code,
      message: expect.not.stringContaining('holds'),
    });
  });
});

const [stick] = parseStorage(
  {
    disks: { Number: 3, BusType: 'USB', Size: 31_029_460_992, SerialNumber: 'CLONE', PartitionStyle: 'MBR' },
    partitions: [
      { DiskNumber: 3, PartitionNumber: 1, DriveLetter: 'E' },
      { DiskNumber: 3, PartitionNumber: 2, DriveLetter: 'F' },
    ],
    volumes: [],
  },
  [],
);
if (stick === undefined) throw new Error('no stick was read');
const letterless = { ...stick, volumes: [] };

describe('one stick, and only one', () => {
  const mount = (letter: string) => ({
    mountPoint: `${letter}:\\`,
    device: `\\\\.\\${letter}:`,
    osType: 'fat32',
    readOnly: false,
    readsDirect: true,
  });
  const identify = (letter: string, drive: typeof stick | undefined) =>
    identifyStick('folder', `${letter}:\\`, mount(letter), drive, 'win32') as Promise<readonly string[]>;

  it('is known by its drive and its letter, so that cloned ones with one serial number are two', async () => {
    const clone = { ...stick, device: '\\\\.\\PhysicalDrive4', volumes: [] };
    expect(await identify('E', stick)).toEqual(['drive \\\\.\\physicaldrive3', 'letter E']);
    expect(await identify('G', clone)).toEqual(['drive \\\\.\\physicaldrive4', 'letter G']);
    expect(await identify('e', undefined)).not.toEqual(await identify('g', undefined));
  });

  it('is held off by any of its letters, by its raw name, and where one run got no list of drives', async () => {
    const ways = async () => [
      await identify('E', stick),
      await identify('e', undefined),
      (await identifyStick('device', stick.device, undefined, stick, 'win32')) as readonly string[],
    ];
    const release = await lockStick(await identify('E', stick), 'E:');
    for (const way of await ways())
      await expect(lockStick(way, 'again')).rejects.toMatchObject(toolError('stick/in-use'));
    await expect(lockStick(await identify('F', stick), 'F:')).rejects.toMatchObject(toolError('stick/in-use'));
    await (await lockStick(await identify('G', undefined), 'G:'))();
    await release();
    for (const way of await ways()) await (await lockStick(way, 'again'))();
  });

  it.each([
    ['E:', '\\\\.\\e:', true],
    ['\\\\.\\PHYSICALDRIVE3', '\\\\.\\PhysicalDrive3', true],
    ['E:', 'F:', false],
    ['/dev/disk4', '/dev/rdisk4', true],
    ['/dev/sda', '/dev/sdA', false],
  ])('%s and %s are one device: %s', (a, b, same) => expect(isSameDevice(a, b)).toBe(same));
});

describe('a raw drive on Windows', () => {
  it.each(['\\\\.\\PhysicalDrive3', '//./physicaldrive3', '\\\\?\\PHYSICALDRIVE3'])(
    'is refused as %s, with the letters to give instead',
    async (target) => {
      expect(isRawOnWindows(target)).toBe(true);
      const error = await refuseRaw(target, async () => [stick]);
      expect(error).toMatchObject({ ...toolError('stick/refused'), todo: 'Give E: or F: instead.' });
    },
  );

  it('is refused also where it has no letter, or where nobody lists it', async () => {
    expect((await refuseRaw('\\\\.\\e:', () => Promise.reject(new Error('no')))).todo).toBe('Give E: instead.');
    for (const list of [async () => [letterless], () => Promise.reject(new Error('no list'))])
      expect((await refuseRaw(stick.device, list)).todo).toContain('Disk Management');
    const paths = ['E:', 'e:\\', 'E:/', '\\\\server\\share', 'stick.img', '\\\\?\\C:\\long\\stick.img', '\\\\?\\E:\\'];
    expect(paths.filter(isRawOnWindows)).toEqual([]);
  });

  it('is never what --stick all takes: a letter, or the reason why not', () => {
    expect(targetOf({ ...stick, volumes: stick.volumes.slice(0, 1) })).toEqual({ target: 'E:' });
    expect(targetOf(letterless)).toEqual({ reason: 'it has no drive letter' });
    expect(targetOf(recordedDrive('/dev/sda', { volumes: [] }))).toEqual({ target: '/dev/sda' });
  });
});
