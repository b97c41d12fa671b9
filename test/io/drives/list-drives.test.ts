import { readFileSync } from 'node:fs';
import { join } from 'node:path';
import { describe, expect, it } from 'vitest';
import type { DriveSource } from '../../../src/io/drives/drive-source.ts';
import { type BusDrive, listDrives, listDrivesFrom } from '../../../src/io/drives/list-drives.ts';
import { parseLsblk } from '../../../src/io/drives/parse-lsblk.ts';
import { attachLoop, canMount } from '../../fixtures/volumes/mounts.ts';
import { makeFatImage, makeScratch } from '../../fixtures/volumes/scratch.ts';
import { itWithout, missingPrograms, needs } from '../../outside/needs.ts';

const lsblk = readFileSync(new URL('recorded/lsblk-2.39-udev.json', import.meta.url), 'utf8');
const system = ['/', '/boot/efi'].map((mountPoint) => ({
  what: 'the running system',
  isSystem: true,
  deviceNumber: '0:0',
  mountPoint,
  pool: undefined,
}));
const source: DriveSource = {
  // Device names nobody has, so that no real drive is looked at.
  listDrives: async () => parseLsblk(lsblk.replaceAll('/dev/', '/recorded/'), system),
  mountOf: async () => undefined,
};
const broken: DriveSource = { ...source, listDrives: () => Promise.reject(new Error('no lsblk')) };
const bus: BusDrive = {
  device: '/recorded/sde',
  description: 'Acme Stick 32',
  size: 31_029_460_992,
  isRemovable: true,
  isUSB: true,
  busType: 'USB',
  isSystem: false,
  isReadOnly: false,
  mountpoints: [{ path: '/media/u/PANELS', label: 'PANELS' }],
  partitionTableType: 'mbr',
};
const inside: BusDrive = {
  ...bus,
  device: '/recorded/nvme9n1',
  isRemovable: false,
  isUSB: false,
  busType: 'NVME',
  isSystem: true,
  mountpoints: [{ path: '/', label: null }],
};
const inUse = [{ path: '/home/mk', what: 'your home folder', isSystem: true }];
const nothing = async (): Promise<undefined> => undefined;

describe('the list of drives', () => {
  it('has the sticks first, then the others, each with its reason', async () => {
    const drives = await listDrivesFrom({ platform: 'linux', source, listBusDrives: nothing, inUse: [] });
    expect(drives.map((drive) => [drive.device, drive.refusedBecause === undefined])).toEqual([
      ['/recorded/sda', true],
      ['/recorded/sdb', true],
      ['/recorded/loop0', false],
      ['/recorded/nvme0n1', false],
      ['/recorded/sdc', false],
      ['/recorded/sdd', false],
    ]);
  });

  it('comes from the buses alone where the system does not tell, and says what it does not know', async () => {
    const drives = await listDrivesFrom({
      platform: 'linux',
      source: broken,
      listBusDrives: async () => [bus, inside],
      inUse,
    });
    expect(drives).toMatchObject([
      {
        device: '/recorded/sde',
        model: 'Acme Stick 32',
        maker: undefined,
        partitionTable: 'mbr',
        refusedBecause: undefined,
      },
      { device: '/recorded/nvme9n1', refusedBecause: 'it holds your home folder' },
    ]);
    expect(drives[0]?.volumes).toMatchObject([{ fileSystem: 'unknown', mountPoints: ['/media/u/PANELS'] }]);
  });

  it('asks the buses about what the system leaves open, and believes a "system" mark except on Linux', async () => {
    const [drive] = parseLsblk(lsblk, system).filter((one) => one.device === '/dev/sda');
    if (drive === undefined) throw new Error('not recorded');
    const open = { ...drive, device: '/recorded/sde', usb: undefined, refusedBecause: 'it is not known' };
    const asking: DriveSource = { ...source, listDrives: async () => [open] };
    const ask = async (platform: NodeJS.Platform, isSystem: boolean) =>
      (
        await listDrivesFrom({ platform, source: asking, listBusDrives: async () => [{ ...bus, isSystem }], inUse: [] })
      )[0];
    expect(await ask('linux', true)).toMatchObject({ usb: true, holdsSystem: false, refusedBecause: undefined });
    expect((await ask('win32', true))?.refusedBecause).toContain('running system');
    const unasked = await listDrivesFrom({ platform: 'linux', source: asking, listBusDrives: nothing, inUse: [] });
    expect(unasked[0]?.refusedBecause).toBe('it is not known');
  });

  it('that nobody can make is an error', async () => {
    const list = listDrivesFrom({ platform: 'linux', source: broken, listBusDrives: nothing, inUse: [] });
    await expect(list).rejects.toMatchObject({ name: 'ToolError', code: 'drives/unavailable' });
    const elsewhere = listDrivesFrom({ platform: 'aix', source: undefined, listBusDrives: nothing, inUse: [] });
    await expect(elsewhere).rejects.toMatchObject({ code: 'drives/unavailable' });
  });
});

describe('this computer', () => {
  const missing = canMount
    ? missingPrograms({ lsblk: 'util-linux', losetup: 'mount' })
    : 'the right to attach loop devices (run as root)';
  (missing === '' ? needs({}) : itWithout(missing))(
    'shows an attached image with what its sectors say, and refuses the drive it runs from',
    async () => {
      const scratch = makeScratch();
      try {
        const image = await makeFatImage(join(scratch.path, 'stick.img'), 40 * 2 ** 20, {
          kind: 'fat32',
          clusterBytes: 512,
        });
        const device = attachLoop(scratch, image);
        const drives = await listDrives();
        expect(drives.find((drive) => drive.device === device)).toMatchObject({
          bytes: 40 * 2 ** 20,
          usb: false,
          holdsSystem: false,
          partitionTable: 'none',
          refusedBecause: 'it is a file shown as a drive, not a USB drive',
          volumes: [{ device, fileSystem: 'fat32', clusterBytes: 512 }],
        });
        for (const drive of drives.filter((one) => one.holdsSystem)) expect(drive.refusedBecause).toBeDefined();
      } finally {
        scratch.undo();
      }
    },
  );
});
