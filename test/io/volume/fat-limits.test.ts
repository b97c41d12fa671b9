import { describe, expect, it } from 'vitest';
import { recogniseVolume } from '../../../src/core/volume-format/boot-sector.ts';
import type { FatGeometry } from '../../../src/core/volume-format/fat-geometry.ts';
import { slotsFor } from '../../../src/core/volume-format/fat-name.ts';
import type { MemoryDevice } from '../../fixtures/volumes/memory-device.ts';
import { makeMemoryFat, openMemory } from '../../fixtures/volumes/open-memory.ts';
import { pathsOf, patterned, readFile, toolError, writeFile } from './conformance/stand.ts';

const mebibyte = 2 ** 20;
const gibibyte = 2 ** 30;

function geometryOf(device: MemoryDevice): FatGeometry {
  const { fat } = recogniseVolume(device.bytes(0, 512));
  if (fat === undefined) throw new Error('no FAT volume');
  return fat;
}

describe('a file on FAT', () => {
  it('is at most 4,294,967,295 bytes long (Microsoft FAT specification 1.03, DIR_FileSize), and exactly that fits', async () => {
    const device = await makeMemoryFat(5 * gibibyte, { kind: 'fat32', clusterBytes: 32_768 });
    const volume = await openMemory(device);
    await expect(volume.create('over.img', 2 ** 32)).rejects.toMatchObject(toolError('stick/full'));
    expect(await pathsOf(volume)).toEqual([]);

    const largest = 2 ** 32 - 1;
    const writer = await volume.create('largest.img', largest);
    const zeros = new Uint8Array(mebibyte);
    for (let left = largest - 3; left > 0; left -= zeros.length)
      await writer.write(zeros.subarray(0, Math.min(left, mebibyte)));
    await writer.write(new Uint8Array([1, 2, 3]));
    await writer.close();
    expect(await volume.entries()).toEqual([{ path: 'largest.img', kind: 'file', bytes: largest }]);
    await volume.close();
    const again = await openMemory(device, 'read');
    let bytes = 0;
    let tail = new Uint8Array();
    for await (const chunk of (await again.open('largest.img', 'fresh')).chunks()) {
      bytes += chunk.length;
      tail = chunk.slice(-4);
    }
    expect(bytes).toBe(largest);
    expect([...tail]).toEqual([0, 1, 2, 3]);
  });

  it('is cut off with an error where it would grow past that', async () => {
    const device = await makeMemoryFat(5 * gibibyte, { kind: 'fat32', clusterBytes: 32_768 });
    const volume = await openMemory(device);
    const writer = await volume.create('grows.img', 2 ** 32 - 1);
    const zeros = new Uint8Array(mebibyte);
    for (let done = 0; done < 4095; done++) await writer.write(zeros);
    await expect(
      (async () => {
        await writer.write(zeros);
        await writer.close();
      })(),
    ).rejects.toMatchObject(toolError('stick/full'));
    await writer.close();
  });
});

describe('a root folder of FAT16', () => {
  it('is full when its 512 slots are taken, and the facts have counted them', async () => {
    const device = await makeMemoryFat(16 * mebibyte, { kind: 'fat16' });
    const volume = await openMemory(device);
    const empty = volume.facts.rootSlotsFree ?? 0;
    expect(empty).toBe(512);
    const name = (index: number): string => `a firmware part, number ${String(index).padStart(3, '0')}.img`;
    const slots = slotsFor(name(0)); // 36 UTF-16 units: 3 long slots and the short one
    expect(slots).toBe(4);
    let made = 0;
    const fill = async (): Promise<void> => {
      for (; ; made++) await writeFile(volume, name(made), patterned(3));
    };
    await expect(fill()).rejects.toMatchObject(toolError('stick/full'));
    expect(made).toBe(Math.floor(empty / slots));
    await expect(volume.makeFolder('one folder with a long name')).rejects.toMatchObject(toolError('stick/full'));
    await volume.close();
    const again = await openMemory(device);
    expect(again.facts.rootSlotsFree).toBe(empty - made * slots);
    expect(await again.entries()).toHaveLength(made);
    await again.removeFile(name(7));
    await again.close();
    expect((await openMemory(device, 'read')).facts.rootSlotsFree).toBe(empty - (made - 1) * slots);
  });
});

describe('the free space', () => {
  it('is counted from the table, not believed from FSInfo, and FSInfo is put right by the next write', async () => {
    const device = await makeMemoryFat(64 * mebibyte, { kind: 'fat32', clusterBytes: 512 });
    const geometry = geometryOf(device);
    const truth = (await openMemory(device, 'read')).facts.freeBytes;
    const at = (geometry.fsInfoSector ?? 0) * 512 + 488; // FSI_Free_Count
    for (const stale of [0, 3, 0xffff_ffff, 0x00ff_0000]) {
      device.putBytes(at, new Uint8Array(new Uint32Array([stale]).buffer));
      const volume = await openMemory(device);
      expect(volume.facts.freeBytes).toBe(truth);
      expect(await volume.freeBytes()).toBe(truth);
      await writeFile(volume, 'a.bin', patterned(513));
      expect(await volume.freeBytes()).toBe(truth - 1024);
      await volume.removeFile('a.bin');
      expect(await volume.freeBytes()).toBe(truth);
      await volume.close();
      expect(new DataView(device.bytes(at, 4).buffer).getUint32(0, true) * 512).toBe(truth);
    }
  });

  it('is laid out in one piece where there is one', async () => {
    const device = await makeMemoryFat(64 * mebibyte, { kind: 'fat32', clusterBytes: 512 });
    const volume = await openMemory(device);
    const runs: number[] = [];
    device.beforeWrite = (_, from) => runs.push(from.length);
    await writeFile(volume, 'a.bin', patterned(4 * mebibyte), mebibyte);
    await volume.flush();
    // Data reaches the medium in blocks of 256 KiB although clusters have 512 bytes; only the first one is parted, by
    // the sector of the table that was still in FatFs's hands.
    expect(runs.filter((bytes) => bytes === mebibyte / 4)).toHaveLength(15);
  });
});

describe('a flush', () => {
  it('reaches the device, also before the first fresh read of what was written, and no more often than needed', async () => {
    const device = await makeMemoryFat(16 * mebibyte, { kind: 'fat16' });
    const volume = await openMemory(device);
    /**
     * How many flushes WORK takes; making and moving things may take some of their own, to keep the order of writes.
     */
    const flushesOf = async (work: () => Promise<unknown>): Promise<number> => {
      const before = device.flushes;
      await work();
      return device.flushes - before;
    };
    await writeFile(volume, 'a.bin', patterned(10));
    expect(await flushesOf(() => readFile(volume, 'a.bin', 'cached'))).toBe(0);
    expect(await flushesOf(() => readFile(volume, 'a.bin', 'fresh'))).toBe(1);
    expect(await flushesOf(() => readFile(volume, 'a.bin', 'fresh'))).toBe(0);
    await volume.makeFolder('b');
    expect(await flushesOf(() => volume.flush())).toBe(1);
    expect(await flushesOf(() => volume.close())).toBe(0);
  });
});

describe('a device that fails', () => {
  it('is told as it told, and is not written after a failed write', async () => {
    const device = await makeMemoryFat(16 * mebibyte, { kind: 'fat16' });
    const volume = await openMemory(device);
    await writeFile(volume, 'before.bin', patterned(50_000));
    const fault = new Error('power cut');
    const writer = await volume.create('during.bin', 3 * mebibyte);
    device.beforeWrite = (_, from) => {
      if (from.length > 65_536) throw fault;
    };
    const writeAndFlush = async (): Promise<void> => {
      await writer.write(patterned(2 * mebibyte));
      await volume.flush();
    };
    await expect(writeAndFlush()).rejects.toBe(fault);
    await writer.close().catch(() => {});
    const { writes } = device;
    await expect(volume.create('after.bin', 1)).rejects.toBe(fault);
    await expect(volume.removeFile('before.bin')).rejects.toBe(fault);
    await expect(volume.flush()).rejects.toBe(fault);
    expect(Buffer.compare(await readFile(volume, 'before.bin', 'cached'), patterned(50_000))).toBe(0);
    await volume.close();
    expect(device.writes).toBe(writes);
  });

  it('fails the read that met the bad sector, and no other', async () => {
    const device = await makeMemoryFat(16 * mebibyte, { kind: 'fat16' });
    const volume = await openMemory(device);
    await writeFile(volume, 'a.bin', patterned(2 * mebibyte));
    await volume.flush();
    const fault = new Error('bad sector');
    device.beforeRead = (_, into) => {
      if (into.length > 65_536) throw fault;
    };
    await expect(readFile(volume, 'a.bin', 'fresh')).rejects.toBe(fault);
    device.beforeRead = () => {};
    expect(Buffer.compare(await readFile(volume, 'a.bin', 'fresh'), patterned(2 * mebibyte))).toBe(0);
    await volume.close();
  });

  it('leaves a file that was being written with no more than a byte, wherever the power is cut', async () => {
    for (let cutAfter = 0; cutAfter < 12; cutAfter++) {
      const device = await makeMemoryFat(16 * mebibyte, { kind: 'fat16' });
      const volume = await openMemory(device);
      device.beforeWrite = () => {
        if (device.writes >= cutAfter) throw new Error('power cut');
      };
      await writeFile(volume, 'new.bin', patterned(3 * mebibyte)).catch(() => {});
      await volume.close();
      device.beforeWrite = () => {};
      const entries = await (await openMemory(device, 'read')).entries();
      const complete = { path: 'new.bin', kind: 'file', bytes: 3 * mebibyte };
      const allowed = [[], [{ ...complete, bytes: 0 }], [{ ...complete, bytes: 1 }], [complete]];
      expect(allowed).toContainEqual(entries.map(({ path, kind, bytes }) => ({ path, kind, bytes })));
      if (entries[0]?.bytes === complete.bytes) {
        const again = await openMemory(device, 'read');
        expect(Buffer.compare(await readFile(again, 'new.bin', 'fresh'), patterned(3 * mebibyte))).toBe(0);
      }
    }
  });
});
