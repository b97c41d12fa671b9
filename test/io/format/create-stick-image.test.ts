import { mkdtempSync, readFileSync, rmSync, statSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, describe, expect, it } from 'vitest';
import { readFatGeometry } from '../../../src/core/volume-format/fat-geometry.ts';
import { readPartitionTable } from '../../../src/core/volume-format/partition-table.ts';
import { createStickImage, type StickImageOptions } from '../../../src/io/format/image-files.ts';

const folder = mkdtempSync(join(tmpdir(), 'stick-image-'));
afterAll(() => rmSync(folder, { recursive: true, force: true }));

const mib = 2 ** 20;
const sample: StickImageOptions = {
  bytes: 64 * mib,
  fileSystem: 'fat32',
  partitioned: true,
  volumeLabel: 'panel 75',
  volumeSerial: 0x1234abcd,
  at: new Date('2026-09-14T10:20:30Z'),
};
let made = 0;

async function make(options: Partial<StickImageOptions> = {}): Promise<string> {
  const path = join(folder, `stick-${made++}.img`);
  await createStickImage(path, { ...sample, ...options });
  return path;
}

describe('a new stick image', () => {
  it('is FAT32 behind one aligned partition, also at 64 MB', async () => {
    const image = readFileSync(await make());
    const { table, partitions, problems } = readPartitionTable(image, image.length);
    expect({ table, problems }).toEqual({ table: 'mbr', problems: [] });
    expect(partitions).toEqual([
      { number: 1, type: 0x0c, startByte: mib, bytes: 63 * mib, bootable: false }, // 0C: AOSP vold, Disk.cpp
    ]);
    const reading = readFatGeometry(image.subarray(mib));
    expect(reading).toMatchObject({
      outcome: 'fat',
      geometry: { kind: 'fat32', clusterBytes: 512, fatCopies: 2, fsInfoSector: 1, backupBootSector: 6 },
    });
    expect(image.subarray(mib + 0x52, mib + 0x5a).toString('latin1')).toBe('FAT32   '); // U-Boot, fs/fat
    expect(image.readUInt32LE(mib + 28)).toBe(2048); // BPB_HiddSec
    expect(image.readUInt32LE(mib + 67)).toBe(0x1234abcd); // BS_VolID
  });

  it('is the same, byte for byte, for the same wishes', async () => {
    expect(readFileSync(await make()).equals(readFileSync(await make()))).toBe(true);
  });

  it('takes no room for what is empty', async () => {
    const path = await make({ bytes: 2 ** 41 });
    expect(statSync(path).size).toBe(2 ** 41);
    expect(statSync(path).blocks * 512).toBeLessThan(mib);
  });

  it('never overwrites a file', async () => {
    const path = await make();
    await expect(createStickImage(path, sample)).rejects.toMatchObject({ code: 'stick/name-taken' });
  });

  it.each([
    ['too small for FAT32', { bytes: 32 * mib }, /at least 65,541/],
    ['clusters that leave too few of them', { clusterBytes: 4096 }, /at least 65,541/],
    ['clusters that are no power of two', { clusterBytes: 3000 }, /512 to 65,536/],
    ['clusters that boot loaders refuse', { bytes: 2 ** 38, clusterBytes: 131_072 }, /512 to 65,536/],
    ['a label that FAT cannot hold', { volumeLabel: 'Größe' }, /cannot be the name/],
  ])('says why there is none: %s', async (_, options, message) => {
    await expect(make(options)).rejects.toMatchObject({
      code: 'stick/refused',
      message: expect.stringMatching(message),
    });
  });
});
