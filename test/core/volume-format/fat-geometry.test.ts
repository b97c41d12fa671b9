import { describe, expect, it } from 'vitest';
import { clustersFor, fatBytesFor, fatKindOf, readFatGeometry } from '../../../src/core/volume-format/fat-geometry.ts';
import { countFreeEntries, readDirtyBits, readFsInfo } from '../../../src/core/volume-format/fat-state.ts';
import { type BootFields, bootSector } from '../../fixtures/volumes/boot-sector.ts';

/** As mkfs.fat 4.2 makes it for 64 MB: FAT32, one sector a cluster. */
const fat32: BootFields = {
  sectorBytes: 512,
  sectorsPerCluster: 1,
  reserved: 32,
  copies: 2,
  rootSlots: 0,
  totalSectors: 131_072,
  fatSectors: 1009,
  rootCluster: 2,
};
const fat16: BootFields = {
  ...fat32,
  sectorsPerCluster: 4,
  reserved: 4,
  rootSlots: 512,
  totalSectors: 65_536,
  fatSectors: 64,
};

const geometryOf = (fields: BootFields) => {
  const reading = readFatGeometry(bootSector(fields));
  if (reading.outcome !== 'fat') throw new Error(`expected a FAT volume: ${JSON.stringify(reading)}`);
  return reading.geometry;
};

describe('the type of a FAT volume', () => {
  // Microsoft FAT specification 1.03, "FAT Type Determination".
  it.each([
    [1, 'fat12'],
    [4084, 'fat12'],
    [4085, 'fat16'],
    [65_524, 'fat16'],
    [65_525, 'fat32'],
  ])('with %d clusters is %s', (clusters, kind) => {
    expect(fatKindOf(clusters)).toBe(kind);
  });

  it('is a matter of the cluster count also where the text says otherwise', () => {
    const sector = bootSector(fat16);
    sector.set(new TextEncoder().encode('FAT32   '), 54);
    expect(readFatGeometry(sector)).toMatchObject({ outcome: 'fat', geometry: { kind: 'fat16' } });
  });

  it('is in doubt where form and count disagree, and that is said', () => {
    // 65,524 clusters in the form of FAT32: Linux goes by the form, FatFs and the specification by the count.
    const few = { ...fat32, totalSectors: 32 + 2 * 1009 + 65_524 };
    expect(readFatGeometry(bootSector(few))).toMatchObject({
      outcome: 'damaged',
      problem: expect.stringContaining('65524 clusters, which is FAT16'),
    });
    const enough = { ...few, totalSectors: few.totalSectors + 1 };
    expect(geometryOf(enough)).toMatchObject({ kind: 'fat32', clusters: 65_525 });
  });
});

describe('the geometry', () => {
  it('follows the specification: data behind reserved sectors, tables and root', () => {
    expect(geometryOf(fat32)).toMatchObject({
      clusterBytes: 512,
      clusters: 129_022,
      dataFirstSector: 2050,
      rootCluster: 2,
      rootSlots: 0,
    });
    expect(geometryOf(fat16)).toMatchObject({
      clusterBytes: 2048,
      rootFirstSector: 132,
      dataFirstSector: 164,
      clusters: Math.floor((65_536 - 164) / 4),
      rootCluster: undefined,
    });
  });

  it.each<[string, Partial<BootFields>]>([
    ['sectors of 500 bytes', { sectorBytes: 500 }],
    ['sectors of 8,192 bytes', { sectorBytes: 8192 }],
    ['three sectors a cluster', { sectorsPerCluster: 3 }],
    ['no sectors a cluster', { sectorsPerCluster: 0 }],
    ['no reserved sectors', { reserved: 0 }],
    ['no table', { copies: 0 }],
    ['three tables', { copies: 3 }],
    ['a table of no size', { fatSectors: 0 }],
    ['a table too small for its clusters', { fatSectors: 8 }],
    ['no sectors', { totalSectors: 0 }],
    ['no room for data', { totalSectors: 2050 }],
    ['a root that starts before the first cluster', { rootCluster: 1 }],
    ['a root that starts past the last one', { rootCluster: 129_024 }],
    ['a fixed root', { rootSlots: 512 }],
    ['another version', { version: 1 }],
    ['a table of four billion sectors', { fatSectors: 0xffff_ffff }],
  ])('is refused with %s', (_, change) => {
    expect(readFatGeometry(bootSector({ ...fat32, ...change })).outcome).toBe('damaged');
  });

  it.each<[string, Partial<BootFields>]>([
    ['a root that does not fill sectors', { rootSlots: 500 }],
    ['no root', { rootSlots: 0 }],
  ])('of FAT16 is refused with %s', (_, change) => {
    expect(readFatGeometry(bootSector({ ...fat16, ...change })).outcome).toBe('damaged');
  });

  it('is not looked for without signature or jump', () => {
    const unsigned = bootSector(fat32);
    unsigned[510] = 0;
    expect(readFatGeometry(unsigned)).toEqual({ outcome: 'not-fat' });
    const noJump = bootSector(fat32);
    noJump[0] = 0;
    expect(readFatGeometry(noJump)).toEqual({ outcome: 'not-fat' });
    expect(readFatGeometry(new Uint8Array(100))).toEqual({ outcome: 'not-fat' });
  });
});

describe('clusters', () => {
  it('are counted whole, and none for an empty file', () => {
    expect([0, 1, 4096, 4097, 2 ** 32 - 1].map((bytes) => clustersFor(bytes, 4096))).toEqual([0, 1, 1, 2, 2 ** 20]);
  });

  it('have two table entries before them', () => {
    expect(fatBytesFor('fat12', 2)).toBe(6); // 4 entries of 12 bits
    expect(fatBytesFor('fat12', 3)).toBe(8); // 5 entries need 7.5 bytes
    expect(fatBytesFor('fat16', 10)).toBe(24);
    expect(fatBytesFor('fat32', 10)).toBe(48);
  });

  it('that are free are counted in each width', () => {
    // FAT12 entries 0..5: FF8 FFF 000 123 000 FFF, packed low nibble first (FAT specification, "FAT12").
    const fat12 = new Uint8Array([0xf8, 0xff, 0xff, 0x00, 0x30, 0x12, 0x00, 0xf0, 0xff, 0]);
    expect(countFreeEntries('fat12', fat12, 2, 4)).toBe(2);
    expect(countFreeEntries('fat16', new Uint8Array([0, 0, 0, 1, 0, 0]), 2, 3)).toBe(2);
    // The upper four bits are not the entry's.
    expect(countFreeEntries('fat32', new Uint8Array([0, 0, 0, 0xf0, 1, 0, 0, 0]), 2, 2)).toBe(1);
  });
});

describe('the state of a volume', () => {
  it('is dirty by the boot sector (Linux fs/fat: state byte, bit 0) or by FAT[1] (ClnShutBitMask, HrdErrBitMask)', () => {
    const geometry = geometryOf(fat32);
    const clean = new Uint8Array([0xf8, 0xff, 0xff, 0x0f, 0xff, 0xff, 0xff, 0x0f]);
    const boot = bootSector(fat32);
    const none = { bootSectorDirty: false, tableDirty: false, tableSawErrors: false };
    expect(readDirtyBits(geometry, boot, clean)).toEqual(none);
    const mounted = boot.slice();
    mounted[65] = 1;
    expect(readDirtyBits(geometry, mounted, clean)).toEqual({ ...none, bootSectorDirty: true });
    const table = (last: number): Uint8Array => new Uint8Array([...clean.subarray(0, 7), last]);
    expect(readDirtyBits(geometry, boot, table(0x07))).toEqual({ ...none, tableDirty: true });
    expect(readDirtyBits(geometry, boot, table(0x0b))).toEqual({ ...none, tableSawErrors: true });
    const sixteen = new Uint8Array([0xf8, 0xff, 0xff, 0x3f]);
    expect(readDirtyBits(geometryOf(fat16), bootSector(fat16), sixteen)).toEqual({
      ...none,
      tableDirty: true,
      tableSawErrors: true,
    });
  });

  it('takes FSInfo only with its signatures, and its numbers only within bounds', () => {
    const sector = new Uint8Array(512);
    const view = new DataView(sector.buffer);
    expect(readFsInfo(sector, 1000)).toBeUndefined();
    view.setUint32(0, 0x41615252, true);
    view.setUint32(484, 0x61417272, true);
    view.setUint32(508, 0xaa550000, true);
    view.setUint32(488, 1000, true);
    view.setUint32(492, 1001, true);
    expect(readFsInfo(sector, 1000)).toEqual({ freeClusters: 1000, nextFree: 1001 });
    view.setUint32(488, 1001, true);
    view.setUint32(492, 1002, true);
    expect(readFsInfo(sector, 1000)).toEqual({ freeClusters: undefined, nextFree: undefined });
    view.setUint32(488, 0xffff_ffff, true);
    expect(readFsInfo(sector, 1000)?.freeClusters).toBeUndefined();
  });
});
