import { spawnSync } from 'node:child_process';
import { mkdirSync } from 'node:fs';
import { join } from 'node:path';
import { afterEach, beforeEach, describe, expect } from 'vitest';
import { openFileDevice } from '../../../src/io/volume/file-device.ts';
import { openVolume } from '../../../src/io/volume/open-volume.ts';
import { masterBootRecord, type TableEntry } from '../../fixtures/volumes/format-fat.ts';
import { attachLoop, canMount, mountVolume, unmount } from '../../fixtures/volumes/mounts.ts';
import { makeScratch, makeSparse, run, type Scratch } from '../../fixtures/volumes/scratch.ts';
import { itWithout, missingPrograms, needs } from '../../outside/needs.ts';
import { patterned, readFile, toolError, writeFile } from './conformance/stand.ts';

const missing = canMount
  ? missingPrograms({
      'mkfs.exfat': 'exfatprogs',
      'mount.exfat-fuse': 'exfat-fuse',
      losetup: 'mount',
      'mkfs.ext4': 'e2fsprogs',
      'mkfs.fat': 'dosfstools',
    })
  : 'the right to mount (run as root)';
const itMounted = missing === '' ? needs({}) : itWithout(missing);
const mebibyte = 2 ** 20;

let scratch: Scratch;
beforeEach(() => {
  scratch = makeScratch();
});
afterEach(() => scratch.undo());

/**
 * A medium with an MBR and one exFAT partition, attached as a drive and mounted, as a stick is when it is plugged in.
 */
async function plugIn(more: readonly TableEntry[] = []): Promise<{ folder: string; drive: string; partition: string }> {
  const image = makeSparse(join(scratch.path, 'stick.img'), (more.length > 0 ? 96 : 64) * mebibyte);
  const device = openFileDevice(image, 'write');
  device.writeSectors(0, masterBootRecord([{ type: 0x07, start: mebibyte, bytes: 63 * mebibyte }, ...more]));
  await device.close();
  const drive = attachLoop(scratch, image);
  run('partx', '--add', drive);
  // somebody may just be looking: the drive must go all the same
  scratch.later(() => spawnSync('partx', ['--delete', drive]));
  const partition = `${drive}p1`;
  run('mkfs.exfat', '-L', 'PANELS', partition);
  const folder = join(scratch.path, 'plugged in');
  mkdirSync(folder);
  run('mount.exfat-fuse', partition, folder);
  scratch.later(() => unmount(folder));
  return { folder, drive, partition };
}

describe('a mounted stick with a partition', () => {
  itMounted('is described down to its table and its drive', async () => {
    const { folder, drive } = await plugIn();
    const volume = await openVolume(folder, 'write');
    expect(volume.facts).toMatchObject({
      kind: 'folder',
      fileSystem: 'exfat',
      fileSystemFrom: 'boot-sector',
      partitionTable: 'mbr',
      partitions: [{ number: 1, type: 0x07, startByte: mebibyte, bytes: 63 * mebibyte, bootable: false }],
      mediumBytes: 64 * mebibyte,
      volumeBytes: 63 * mebibyte,
      clusterBytes: 4096,
      sectorBytes: 512,
      readOnly: false,
      drive: { device: drive, holdsSystem: false, usb: false },
    });
    await writeFile(volume, 'a.bin', patterned(1000));
    // A driver in user space has a cache that nobody can go around.
    expect((await volume.open('a.bin', 'fresh')).readBack).toBe('cache');
    await volume.close();
  });

  itMounted('knows the other volumes of its drive, by its folder and by its partition', async () => {
    const { folder, drive, partition } = await plugIn([{ type: 0x1c, start: 64 * mebibyte, bytes: 32 * mebibyte }]);
    run('mkfs.ext4', '-q', `${drive}p2`);
    const other = { where: 'partition', number: 2, fileSystem: 'ext', bytes: 32 * mebibyte };
    const mounted = await openVolume(folder, 'read');
    expect(mounted.facts).toMatchObject({ partitionTable: 'mbr', otherVolumes: { from: 'sectors', volumes: [other] } });
    await mounted.close();
    unmount(folder);
    run('mkfs.fat', partition);
    const raw = await openVolume(partition, 'read');
    expect(raw.facts).toMatchObject({ partitionTable: 'mbr', mediumBytes: 96 * mebibyte });
    expect(raw.facts.otherVolumes).toEqual({ from: 'sectors', volumes: [other] });
    await raw.close();
  });

  itMounted('is one stick by its folder, its partition and its drive', async () => {
    const { folder, drive, partition } = await plugIn();
    const volume = await openVolume(folder, 'write');
    for (const name of [folder, partition, drive]) {
      await expect(openVolume(name, 'write'), name).rejects.toMatchObject({
        ...toolError('stick/in-use'),
        message: expect.stringContaining(`process ${process.pid}`),
      });
    }
    await volume.close();
    // And what is mounted is not written behind the system's back.
    await expect(openVolume(partition, 'write')).rejects.toMatchObject(toolError('stick/in-use'));
    await expect(openVolume(drive, 'write')).rejects.toMatchObject(toolError('stick/in-use'));
  });

  itMounted('that is mounted read-only says so', async () => {
    const point = mountVolume(scratch, 'ext4', 16);
    run('mount', '-o', 'remount,ro', point);
    const volume = await openVolume(point, 'write');
    expect(volume.facts.readOnly).toBe(true);
    await expect(volume.create('a.bin', 1)).rejects.toMatchObject(toolError('stick/read-only'));
    await volume.close();
  });

  itMounted('that becomes read-only while it is open says so', async () => {
    const point = mountVolume(scratch, 'ext4', 16);
    const volume = await openVolume(point, 'write');
    await writeFile(volume, 'a.bin', patterned(1000));
    await volume.flush();
    run('mount', '-o', 'remount,ro', point);
    await expect(volume.create('b.bin', 1)).rejects.toMatchObject(toolError('stick/read-only'));
    await expect(volume.removeFile('a.bin')).rejects.toMatchObject(toolError('stick/read-only'));
    expect(Buffer.compare(await readFile(volume, 'a.bin'), patterned(1000))).toBe(0);
    await volume.close();
  });
});

describe('reading afresh', { tags: ['ready-means-read-back'] }, () => {
  itMounted('comes from the medium on a kernel file system, also for a tail that fills no sector', async () => {
    const point = mountVolume(scratch, 'ext4', 16);
    run('losetup', '--direct-io=on', run('losetup', '-n', '-O', 'NAME', '-j', join(scratch.path, 'ext4.img')).trim());
    const volume = await openVolume(point, 'write');
    for (const bytes of [0, 1, 4095, 4097, mebibyte + 3]) {
      await writeFile(volume, `${bytes}.bin`, patterned(bytes));
      const reader = await volume.open(`${bytes}.bin`, 'fresh');
      expect(reader.readBack).toBe('medium');
      expect(Buffer.compare(await readFile(volume, `${bytes}.bin`, 'fresh'), patterned(bytes))).toBe(0);
    }
    await volume.close();
  });

  itMounted('comes from memory where there is nothing else', async () => {
    const volume = await openVolume(mountVolume(scratch, 'tmpfs', 4), 'write');
    await writeFile(volume, 'a.bin', patterned(10));
    expect((await volume.open('a.bin', 'fresh')).readBack).toBe('cache');
    await volume.close();
  });
});
