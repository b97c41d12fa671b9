import { describe, expect, it } from 'vitest';
import { recogniseVolume, volumeHeadBytes } from '../../../src/core/volume-format/boot-sector.ts';
import { readOtherGeometry } from '../../../src/core/volume-format/fat-root.ts';
import { readPartitionTable, tableHeadBytes } from '../../../src/core/volume-format/partition-table.ts';
import { bootSector } from '../../fixtures/volumes/boot-sector.ts';
import { masterBootRecord, type TableEntry } from '../../fixtures/volumes/format-fat.ts';

const mebibyte = 2 ** 20;
const medium = 64 * mebibyte;

function headWith(...parts: readonly (readonly [at: number, bytes: Uint8Array | string])[]): Uint8Array {
  const head = new Uint8Array(tableHeadBytes);
  for (const [at, bytes] of parts) head.set(typeof bytes === 'string' ? Buffer.from(bytes, 'latin1') : bytes, at);
  return head;
}

const fat = (): Uint8Array =>
  bootSector({
    sectorBytes: 512,
    sectorsPerCluster: 4,
    reserved: 4,
    copies: 2,
    rootSlots: 512,
    totalSectors: 65_536,
    fatSectors: 64,
  });

describe('an MBR', () => {
  const one: TableEntry = { type: 0x0c, start: mebibyte, bytes: 60 * mebibyte, boot: 0x80 };
  const read = (...entries: readonly TableEntry[]) =>
    readPartitionTable(headWith([0, masterBootRecord(entries)]), medium);

  it('lists its entries in table order', () => {
    const none: TableEntry = { type: 0, start: 0, bytes: 0 };
    const two: TableEntry = { type: 0x83, start: 61 * mebibyte, bytes: 3 * mebibyte };
    expect(read(none, one, none, two)).toEqual({
      table: 'mbr',
      problems: [],
      partitions: [
        { number: 2, type: 0x0c, startByte: mebibyte, bytes: 60 * mebibyte, bootable: true },
        { number: 4, type: 0x83, startByte: 61 * mebibyte, bytes: 3 * mebibyte, bootable: false },
      ],
    });
  });

  it.each<[string, TableEntry, string]>([
    ['a boot byte of 01', { ...one, boot: 1 }, 'entry 2 has the boot byte 01; only 00 and 80 are defined'],
    ['no size', { ...one, bytes: 0 }, 'entry 2 has no place or no size'],
    ['a start at the table itself', { ...one, start: 0 }, 'entry 2 has no place or no size'],
    ['an end past the medium', { ...one, bytes: 64 * mebibyte }, 'entry 2 ends past the end of the medium'],
    ['an overlap', { ...one, start: 9 * mebibyte, bytes: 2 * mebibyte }, 'entry 2 overlaps entry 1'],
  ])('says what is wrong with an entry with %s', (_, bad, problem) => {
    const good: TableEntry = { type: 0x0c, start: 8 * mebibyte, bytes: 2 * mebibyte };
    expect(read(good, bad)).toMatchObject({ table: 'mbr', partitions: [{ number: 1 }], problems: [problem] });
  });

  it('with no entries is a table with no partitions; no signature is no table', () => {
    expect(read()).toEqual({ table: 'mbr', partitions: [], problems: [] });
    expect(readPartitionTable(headWith(), medium).table).toBe('unknown');
    expect(readPartitionTable(new Uint8Array(100), medium).table).toBe('unknown');
  });

  it('is told from a volume without a table, which has the same signature', () => {
    expect(readPartitionTable(headWith([0, fat()]), medium)).toEqual({ table: 'none', partitions: [], problems: [] });
    expect(readPartitionTable(headWith([3, 'EXFAT   '], [510, '\x55\xaa']), medium).table).toBe('none');
    expect(readPartitionTable(headWith([1080, '\x53\xef']), medium).table).toBe('none');
  });

  it('counts in the sectors of its medium', () => {
    const head = headWith([0, masterBootRecord([{ type: 0x0c, start: 256 * 512, bytes: 2048 * 512 }])]);
    expect(readPartitionTable(head, medium, 4096).partitions[0]).toMatchObject({
      startByte: mebibyte,
      bytes: 8 * mebibyte,
    });
  });
});

describe('a GPT', () => {
  // UEFI specification 2.10, 5.2.3 and 5.3.2.
  const protective = masterBootRecord([{ type: 0xee, start: 512, bytes: medium - 512 }]);
  function gpt(sectorBytes: number, change: (header: DataView, entry: DataView) => void = () => {}): Uint8Array {
    const header = new Uint8Array(92);
    header.set(Buffer.from('EFI PART'));
    const view = new DataView(header.buffer);
    view.setBigUint64(72, 2n, true);
    view.setUint32(80, 128, true);
    view.setUint32(84, 128, true);
    const entry = new Uint8Array(128).fill(0, 16);
    entry.set(Buffer.from('a2a0d0ebe5b9334487c068b6b72699c7', 'hex')); // Basic Data, as it lies on disk
    const entryView = new DataView(entry.buffer);
    entryView.setBigUint64(32, BigInt(mebibyte / sectorBytes), true);
    entryView.setBigUint64(40, BigInt((3 * mebibyte) / sectorBytes - 1), true);
    change(view, entryView);
    return headWith([0, protective], [sectorBytes, header], [2 * sectorBytes, entry]);
  }

  it.each([512, 4096])('is read behind its protective entry, with sectors of %d bytes', (sectorBytes) => {
    expect(readPartitionTable(gpt(sectorBytes), medium)).toEqual({
      table: 'gpt',
      problems: [],
      partitions: [{ number: 1, type: undefined, startByte: mebibyte, bytes: 2 * mebibyte, bootable: false }],
    });
  });

  it('is bounded in every number', () => {
    const huge = 0xffff_ffff_ffff_ffffn;
    const changes: readonly ((header: DataView, entry: DataView) => void)[] = [
      (header) => header.setUint32(80, 0xffff_ffff, true),
      (header) => header.setUint32(84, 0, true),
      (header) => header.setUint32(84, 0xffff_ffff, true),
      (header) => header.setBigUint64(72, 0n, true),
      (header) => header.setBigUint64(72, huge, true),
      (_, entry) => entry.setBigUint64(32, huge, true),
      (_, entry) => entry.setBigUint64(40, huge, true),
      (_, entry) => entry.setBigUint64(40, 0n, true),
    ];
    for (const change of changes) {
      expect(readPartitionTable(gpt(512, change), medium)).toMatchObject({ table: 'gpt', partitions: [] });
    }
  });

  it('that is not there behind its entry is said', () => {
    expect(readPartitionTable(headWith([0, protective]), medium)).toMatchObject({
      table: 'unknown',
      problems: ['has a protective entry and no GPT behind it'],
    });
  });
});

describe('a volume is recognised by its signature', () => {
  // Each signature's document is named beside it in the source; these are its bytes, written here again.
  it.each<[string, number, string]>([
    ['exfat', 3, 'EXFAT   '],
    ['ntfs', 3, 'NTFS    '],
    ['bitlocker', 3, '-FVE-FS-'],
    ['bitlocker', 424, '\x3b\xd6\x67\x49\x29\x2e\xd8\x4a\x83\x99\xf6\xa3\x39\xe3\xd0\x01'],
    ['luks', 0, 'LUKS\xba\xbe'],
    ['apfs', 32, 'NXSB'],
    ['hfs+', 1024, 'H+\x00\x04'],
    ['hfs+', 1024, 'HX\x00\x05'],
    ['ext', 1080, '\x53\xef'],
    ['iso9660', 32_769, 'CD001'],
    ['other', 0, 'XFSB'],
  ])('%s', (fileSystem, at, bytes) => {
    expect(recogniseVolume(headWith([at, bytes])).fileSystem).toBe(fileSystem);
  });

  it('FAT also where an older file system left its mark behind the first sector', () => {
    expect(recogniseVolume(headWith([0, fat()], [1080, '\x53\xef'])).fileSystem).toBe('fat16');
  });

  it('encryption first, since it wears the boot sector of another', () => {
    expect(recogniseVolume(headWith([0, fat()], [3, '-FVE-FS-'])).fileSystem).toBe('bitlocker');
  });

  it('not at all in nothing, or in too little', () => {
    expect(recogniseVolume(new Uint8Array(volumeHeadBytes)).fileSystem).toBe('unknown');
    for (let length = 0; length < 520; length += 13) recogniseVolume(fat().subarray(0, length));
  });
});

describe('exFAT and NTFS', () => {
  it('give size, cluster, serial and mark within the bounds of the specification', () => {
    const sector = new Uint8Array(512);
    const view = new DataView(sector.buffer);
    view.setBigUint64(72, 131_072n, true);
    view.setUint32(100, 0xefde_d2b8, true);
    view.setUint16(106, 2, true);
    view.setUint8(108, 9);
    view.setUint8(109, 3);
    const sound = { sectorBytes: 512, clusterBytes: 4096, volumeBytes: medium, serial: 'EFDE-D2B8', dirty: true };
    expect(readOtherGeometry('exfat', sector)).toEqual(sound);
    view.setUint8(109, 16); // 2^25, the largest: 3.1.15
    expect(readOtherGeometry('exfat', sector)?.clusterBytes).toBe(32 * mebibyte);
    view.setUint8(109, 17);
    expect(readOtherGeometry('exfat', sector)).toBeUndefined();
    view.setUint8(108, 13);
    expect(readOtherGeometry('exfat', sector)).toBeUndefined();

    const ntfs = new Uint8Array(512);
    const boot = new DataView(ntfs.buffer);
    boot.setUint16(11, 512, true);
    boot.setUint8(13, 8);
    boot.setBigUint64(40, 1000n, true);
    expect(readOtherGeometry('ntfs', ntfs)).toMatchObject({ clusterBytes: 4096, volumeBytes: 512_000 });
    boot.setUint8(13, 0xf4); // 2^12 sectors
    expect(readOtherGeometry('ntfs', ntfs)?.clusterBytes).toBe(2 * mebibyte);
    boot.setUint8(13, 0x81);
    expect(readOtherGeometry('ntfs', ntfs)).toBeUndefined();
    boot.setUint8(13, 8);
    boot.setBigUint64(40, 0xffff_ffff_ffff_ffffn, true);
    expect(readOtherGeometry('ntfs', ntfs)).toBeUndefined();
  });
});
