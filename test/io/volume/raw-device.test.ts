import { createHash } from 'node:crypto';
import { closeSync, constants, openSync, readFileSync, rmSync } from 'node:fs';
import { join } from 'node:path';
import { describe, expect } from 'vitest';
import { claimMedium } from '../../../src/io/format/claim-medium.ts';
import { findMedium } from '../../../src/io/format/find-medium.ts';
import { openVolume } from '../../../src/io/volume/open-volume.ts';
import { attachLoop, canMount, mountVolume } from '../../fixtures/volumes/mounts.ts';
import { makeFatImage, makeScratch, makeSparse, run, type Scratch } from '../../fixtures/volumes/scratch.ts';
import { itWithout, missingPrograms, needs } from '../../outside/needs.ts';
import { patterned, readFile, toolError, writeFile } from './conformance/stand.ts';
import { describeConformance } from './conformance.ts';

const missing = canMount ? missingPrograms({ losetup: 'mount' }) : 'the right to attach loop devices (run as root)';
const itOnDevice = missing === '' ? needs({}) : itWithout(missing);
const mebibyte = 2 ** 20;

async function withScratch(use: (scratch: Scratch) => Promise<void>): Promise<void> {
  const scratch = makeScratch();
  try {
    await use(scratch);
  } finally {
    scratch.undo();
  }
}

if (missing === '') {
  const traits = { ignoresCase: true, keepsOrder: true, refusesFatNames: true, fills: true };
  describeConformance('FAT32 behind an MBR on a raw device', traits, async () => {
    const scratch = makeScratch();
    const image = await makeFatImage(join(scratch.path, 'stick.img'), 41 * mebibyte, {
      kind: 'fat32',
      partitioned: true,
    });
    const device = attachLoop(scratch, image);
    return { open: (access) => openVolume(device, access), undo: scratch.undo };
  });
}

describe('a raw device', () => {
  itOnDevice('says what it is, and where a read came from', () =>
    withScratch(async (scratch) => {
      const image = await makeFatImage(join(scratch.path, 'stick.img'), 41 * mebibyte, {
        kind: 'fat32',
        partitioned: true,
      });
      const device = attachLoop(scratch, image);
      run('losetup', '--direct-io=off', device); // kernels differ in what they begin with
      const volume = await openVolume(device, 'write');
      expect(volume.facts).toMatchObject({
        kind: 'device',
        fileSystem: 'fat32',
        partitionTable: 'mbr',
        partitions: [{ number: 1, type: 0x0c, startByte: mebibyte, bytes: 40 * mebibyte }],
        mediumBytes: 41 * mebibyte,
        drive: { device, usb: false, holdsSystem: false, bytes: 41 * mebibyte },
      });
      await writeFile(volume, 'a.bin', patterned(10));
      // The loop device answers from its file's cache; one with direct I/O would not (losetup(8), --direct-io).
      expect((await volume.open('a.bin', 'fresh')).readBack).toBe('cache');
      await volume.close();
      run('losetup', '--direct-io=on', device);
      const again = await openVolume(device, 'read');
      expect((await again.open('a.bin', 'fresh')).readBack).toBe('medium');
      expect(Buffer.compare(await readFile(again, 'a.bin', 'fresh'), patterned(10))).toBe(0);
      await again.close();
    }),
  );

  // A desktop mounts by itself what it sees come, also while it is being written; what mount(2) does first is this.
  itOnDevice('is claimed by nobody else while it is written or erased, and free again afterwards', () =>
    withScratch(async (scratch) => {
      const bytes = 64 * mebibyte;
      const device = attachLoop(scratch, await makeFatImage(join(scratch.path, 'a.img'), bytes, { kind: 'fat32' }));
      const claim = (): void => closeSync(openSync(device, constants.O_RDONLY | constants.O_EXCL));
      const reader = await openVolume(device, 'read');
      claim();
      await reader.close();
      const volume = await openVolume(device, 'write');
      expect(claim).toThrow('EBUSY');
      await volume.close();
      claim();
      const claimed = await claimMedium(await findMedium(device, { mayBeNew: false }));
      expect(claim).toThrow('EBUSY');
      await claimed.release();
      claim();
    }),
  );

  // Its name in /dev stays until udev has heard of it; the kernel has no such device any more.
  itOnDevice('is gone where it was pulled before it was opened, and no drive that nobody knows', () =>
    withScratch(async (scratch) => {
      const name = join(scratch.path, 'sdz');
      run('mknod', name, 'b', '259', '1048575');
      for (const access of ['write', 'read'] as const)
        await expect(openVolume(name, access)).rejects.toMatchObject(toolError('stick/gone'));
      await expect(openVolume(name, 'write')).rejects.toMatchObject({
        message: expect.stringContaining('pulled before it was opened'),
        todo: expect.stringMatching(/another name.*stickwright drives/),
      });
      await expect(findMedium(name, { mayBeNew: false })).rejects.toMatchObject(toolError('stick/gone'));
    }),
  );

  itOnDevice('is not written while the system has it mounted, nor is its image', () =>
    withScratch(async (scratch) => {
      mountVolume(scratch, 'ext4', 16);
      const image = join(scratch.path, 'ext4.img');
      const device = run('losetup', '--noheadings', '--output', 'NAME', '--associated', image).trim();
      await expect(openVolume(device, 'write')).rejects.toMatchObject(toolError('stick/in-use'));
      await expect(openVolume(image, 'write')).rejects.toMatchObject(toolError('stick/in-use'));
    }),
  );

  itOnDevice('is written by one run at a time, whichever way it is named', () =>
    withScratch(async (scratch) => {
      const image = await makeFatImage(join(scratch.path, 'stick.img'), 16 * mebibyte, { kind: 'fat16' });
      const device = attachLoop(scratch, image);
      const first = await openVolume(device, 'write');
      await expect(openVolume(device, 'write')).rejects.toMatchObject({
        ...toolError('stick/in-use'),
        message: expect.stringContaining(String(process.pid)),
      });
      await first.close();
      await (await openVolume(device, 'write')).close();
    }),
  );
});

describe('a FAT volume mounted by a driver in user space', () => {
  const fusefat = canMount ? missingPrograms({ fusefat: 'fusefat', 'mkfs.fat': 'dosfstools' }) : missing;
  // fusefat 0.1a loses the contents of a renamed folder and refuses names outside ASCII, so the whole suite cannot be
  // held to it.
  (fusefat === '' ? needs({}) : itWithout(fusefat))(
    'is known by its boot sector, and written and read through the mount',
    () =>
      withScratch(async (scratch) => {
        const folder = mountVolume(scratch, 'fat32', 40);
        const volume = await openVolume(folder, 'write');
        expect(volume.facts).toMatchObject({
          kind: 'folder',
          fileSystem: 'fat32',
          fileSystemFrom: 'boot-sector',
          partitionTable: 'none',
          mediumBytes: 40 * mebibyte,
          volumeBytes: 40 * mebibyte,
          clusterBytes: 512,
          sectorBytes: 512,
        });
        expect(volume.facts.freeBytes).toBeGreaterThan(38 * mebibyte);
        await volume.makeFolder('images');
        await writeFile(volume, 'images/new.tmp', patterned(3_000_000));
        await volume.rename('images/new.tmp', 'images/final.img');
        await volume.flush();
        expect(Buffer.compare(await readFile(volume, 'images/final.img', 'fresh'), patterned(3_000_000))).toBe(0);
        await volume.close();
      }),
  );
});

describe('an image file', () => {
  needs({})('is not changed in a single byte by opening it for reading and reading everything', () =>
    withScratch(async (scratch) => {
      const image = await makeFatImage(join(scratch.path, 'stick.img'), 40 * mebibyte, { kind: 'fat32' });
      const writing = await openVolume(image, 'write');
      await writing.makeFolder('folder');
      await writeFile(writing, 'folder/a.bin', patterned(100_000));
      await writing.close();
      const hash = (): string => createHash('sha256').update(readFileSync(image)).digest('hex');
      const before = hash();
      const reading = await openVolume(image, 'read');
      await reading.entries();
      await reading.freeBytes();
      for (const how of ['fresh', 'cached'] as const) await readFile(reading, 'folder/a.bin', how);
      await reading.flush();
      await reading.close();
      expect(hash()).toBe(before);
    }),
  );

  needs({})('whose partition starts in the middle of a page, and which ends in one, is read afresh', () =>
    withScratch(async (scratch) => {
      // Sector 63 is where partitions began for decades (common practice); a direct read starts only at whole pages.
      const shape = { kind: 'fat16', partitioned: 63 * 512 } as const;
      const image = await makeFatImage(join(scratch.path, 'stick.img'), 16 * mebibyte + 512, shape);
      const volume = await openVolume(image, 'write');
      const free = await volume.freeBytes();
      for (const bytes of [1, 4096, 2 * mebibyte + 777, free - 3 * mebibyte]) {
        const name = `${bytes}.bin`;
        await writeFile(volume, name, patterned(bytes, bytes));
        for (const how of ['fresh', 'cached'] as const) {
          expect(Buffer.compare(await readFile(volume, name, how), patterned(bytes, bytes)), `${bytes} ${how}`).toBe(0);
        }
      }
      await volume.close();
    }),
  );

  needs({})('that was removed or replaced while it was written is gone', () =>
    withScratch(async (scratch) => {
      const path = join(scratch.path, 'stick.img');
      for (const replace of [() => {}, () => makeSparse(path, 16 * mebibyte)]) {
        const volume = await openVolume(await makeFatImage(path, 16 * mebibyte, { kind: 'fat16' }), 'write');
        await writeFile(volume, 'a.bin', patterned(100));
        rmSync(path);
        replace();
        await expect(volume.flush()).rejects.toMatchObject(toolError('stick/gone'));
        await volume.close(); // whoever asked was told
      }
    }),
  );

  needs({})('that is no volume says what it is', () =>
    withScratch(async (scratch) => {
      const image = makeSparse(join(scratch.path, 'zeros.img'), mebibyte);
      await expect(openVolume(image, 'read')).rejects.toMatchObject(toolError('stick/unsupported-file-system'));
      const empty = makeSparse(join(scratch.path, 'empty.img'), 0);
      await expect(openVolume(empty, 'read')).rejects.toMatchObject(toolError('stick/unsupported-file-system'));
      await expect(openVolume(join(scratch.path, 'none.img'), 'read')).rejects.toMatchObject(
        toolError('stick/not-found'),
      );
    }),
  );
});
