import { join } from 'node:path';
import { afterAll, beforeAll, describe, expect } from 'vitest';
import { recogniseVolume } from '../../src/core/volume-format/boot-sector.ts';
import type { FatGeometry } from '../../src/core/volume-format/fat-geometry.ts';
import { readHead } from '../../src/io/drives/read-sectors-of.ts';
import { openVolume } from '../../src/io/volume/open-volume.ts';
import { makeScratch, makeSparse, run, type Scratch } from '../fixtures/volumes/scratch.ts';
import { needs } from './needs.ts';

const itWithFat = needs({ 'mkfs.fat': 'dosfstools', 'fsck.fat': 'dosfstools' });
const mebibyte = 2 ** 20;
let scratch: Scratch;
beforeAll(() => {
  scratch = makeScratch();
});
afterAll(() => scratch.undo());

function format(bytes: number, ...options: readonly string[]): string {
  const image = makeSparse(join(scratch.path, 'volume.img'), bytes);
  run('mkfs.fat', ...options, image);
  return image;
}

function geometryOf(image: string): FatGeometry {
  const { fat, fileSystem } = recogniseVolume(readHead(image) ?? new Uint8Array());
  if (fat === undefined) throw new Error(`${image} is taken for ${fileSystem}`);
  return fat;
}

/** The numbers that `fsck.fat -v` states, by the words behind or around them. */
function fsckNumbers(image: string) {
  const text = run('fsck.fat', '-v', '-n', image);
  const number = (pattern: RegExp): number => Number(pattern.exec(text)?.[1] ?? Number.NaN);
  return {
    sectorBytes: number(/(\d+) bytes per logical sector/),
    clusterBytes: number(/(\d+) bytes per cluster/),
    reservedSectors: number(/(\d+) reserved sectors?/),
    fatCopies: number(/(\d+) FATs?,/),
    entryBits: number(/(\d+) bit entries/),
    fatSectors: number(/bytes per FAT \(= (\d+) sectors?\)/),
    dataFirstSector: number(/Data area starts at byte \d+ \(sector (\d+)\)/),
    clusters: number(/(\d+) data clusters/),
    totalSectors: number(/(\d+) sectors total/),
  };
}

const bits = { fat12: 12, fat16: 16, fat32: 32 };

function compare(image: string): FatGeometry {
  const ours = geometryOf(image);
  const {
    kind,
    sectorBytes,
    clusterBytes,
    reservedSectors,
    fatCopies,
    fatSectors,
    dataFirstSector,
    clusters,
    totalSectors,
  } = ours;
  expect({
    sectorBytes,
    clusterBytes,
    reservedSectors,
    fatCopies,
    entryBits: bits[kind],
    fatSectors,
    dataFirstSector,
    clusters,
    totalSectors,
  }).toEqual(fsckNumbers(image));
  return ours;
}

describe('the geometry of a FAT volume is the one that fsck.fat sees', () => {
  // Sparse images; the allocation table is what fsck.fat reads, so large volumes get large clusters.
  const cases: readonly [bytes: number, ...options: string[]][] = [
    [1_474_560],
    [2 * mebibyte],
    [mebibyte, '-F', '12', '-s', '1'],
    ...['4', '8', '16', '32', '64', '128'].map((s): [number, ...string[]] => [4 * mebibyte, '-F', '12', '-s', s]),
    ...['1', '2', '4', '8'].map((s): [number, ...string[]] => [16 * mebibyte, '-F', '16', '-s', s]),
    ...['8', '16', '32', '64'].map((s): [number, ...string[]] => [250 * mebibyte, '-F', '16', '-s', s]),
    [64 * mebibyte, '-F', '32'],
    [64 * mebibyte, '-F', '32', '-s', '1'],
    [512 * mebibyte, '-F', '32', '-s', '2'],
    [512 * mebibyte],
    [4096 * mebibyte, '-F', '32', '-s', '16'],
    [16_384 * mebibyte, '-F', '32', '-s', '128'],
    [64 * mebibyte, '-F', '16', '-r', '1024', '-R', '8'],
    [64 * mebibyte, '-F', '16', '-f', '1', '-s', '8'],
    [64 * mebibyte, '-F', '16', '-S', '1024', '-s', '4'],
    [64 * mebibyte, '-F', '16', '-S', '4096', '-s', '1'],
    [512 * mebibyte, '-F', '32', '-S', '4096', '-s', '1'],
  ];
  itWithFat(`over ${cases.length} sizes, cluster sizes and sector sizes`, () => {
    for (const [bytes, ...options] of cases) compare(format(bytes, ...options));
  });
});

describe('the type of a FAT volume turns where the specification says', () => {
  // Sectors that leave just that many clusters of one sector are found by asking our own reader, and then fsck.fat.
  itWithFat('at 4,085 and at 65,525 clusters', () => {
    const seen = new Set<string>();
    for (const [option, threshold] of [
      ['12', 4085],
      ['16', 4085],
      ['16', 65_525],
      ['32', 65_525],
    ] as const) {
      for (let sectors = threshold - 30; sectors < threshold + 1200; sectors += threshold > 5000 ? 29 : 11) {
        let image: string;
        try {
          image = format(sectors * 512, '-F', option, '-s', '1', '-a', '-R', option === '32' ? '32' : '1');
        } catch {
          continue; // mkfs.fat itself refuses that many clusters for that type
        }
        const { fat, problem } = recogniseVolume(readHead(image) ?? new Uint8Array());
        const theirs = fsckNumbers(image);
        const kind = theirs.clusters < 4085 ? 'fat12' : theirs.clusters < 65_525 ? 'fat16' : 'fat32';
        if (fat === undefined) {
          // mkfs.fat makes FAT32 with too few clusters when told to, and warns; we say that readers disagree.
          expect(problem).toContain('readers disagree');
          expect(option === '32' && theirs.clusters < 65_525).toBe(true);
          seen.add('disputed');
          continue;
        }
        expect(fat).toMatchObject({ kind, clusters: theirs.clusters });
        seen.add(kind);
      }
    }
    expect([...seen].toSorted()).toEqual(['disputed', 'fat12', 'fat16', 'fat32']);
  });
});

describe('the facts of an image made by mkfs.fat', () => {
  itWithFat('say its label, serial, size and free space', async () => {
    const image = format(64 * mebibyte, '-F', '32', '-n', 'PANELS 1', '-i', '1234abcd');
    const volume = await openVolume(image, 'read');
    const { clusters, clusterBytes } = fsckNumbers(image);
    expect(volume.facts).toMatchObject({
      fileSystem: 'fat32',
      fileSystemFrom: 'boot-sector',
      partitionTable: 'none',
      volumeLabel: 'PANELS 1',
      volumeSerial: '1234-ABCD',
      mediumBytes: 64 * mebibyte,
      freeBytes: (clusters - 1) * clusterBytes, // the root takes one
      dirty: false,
      rootSlotsFree: undefined,
    });
    await volume.close();
    const small = await openVolume(format(16 * mebibyte, '-F', '16', '-n', 'SMALL'), 'read');
    expect(small.facts).toMatchObject({ fileSystem: 'fat16', volumeLabel: 'SMALL', rootSlotsFree: 511 });
    await small.close();
  });

  itWithFat('of 64 GB are read within 100 MB of memory', async () => {
    const image = format(64_000_000_000 - (64_000_000_000 % 512), '-F', '32', '-s', '8');
    const before = process.memoryUsage().rss;
    const volume = await openVolume(image, 'read');
    expect(volume.facts.freeBytes).toBeGreaterThan(63_800_000_000);
    await volume.close();
    expect(process.memoryUsage().rss - before).toBeLessThan(100_000_000);
  });
});

describe('other file systems are recognised as their own makers leave them', () => {
  const makers = [
    { kind: 'exfat', program: 'mkfs.exfat', from: 'exfatprogs', options: [] },
    { kind: 'ntfs', program: 'mkfs.ntfs', from: 'ntfs-3g', options: ['-F', '-Q'] },
    { kind: 'ext', program: 'mkfs.ext4', from: 'e2fsprogs', options: ['-q'] },
  ] as const;
  for (const { kind, program, from, options } of makers) {
    needs({ [program]: from })(`${kind} by ${program}`, async () => {
      const image = makeSparse(join(scratch.path, `${kind}.img`), 16 * mebibyte);
      run(program, ...options, image);
      expect(recogniseVolume(readHead(image) ?? new Uint8Array()).fileSystem).toBe(kind);
      await expect(openVolume(image, 'read')).rejects.toMatchObject({ code: 'stick/unsupported-file-system' });
    });
  }
});

describe('partition tables are read as sfdisk writes them', () => {
  const itWithTables = needs({ sfdisk: 'fdisk', 'mkfs.fat': 'dosfstools' });
  const layout = ['start=2048, size=32768, type=TYPE', 'start=40960, size=8192, type=OTHER'];
  for (const [label, type, other] of [
    ['dos', 'c', '83'],
    ['gpt', 'EBD0A0A2-B9E5-4433-87C0-68B6B72699C7', '0FC63DAF-8483-4772-8E79-3D69D8477DE4'],
  ] as const) {
    itWithTables(label, async () => {
      const image = makeSparse(join(scratch.path, `${label}.img`), 64 * mebibyte);
      const script = [`label: ${label}`, ...layout].join('\n').replace('TYPE', type).replace('OTHER', other);
      const { spawnSync } = await import('node:child_process');
      expect(spawnSync('sfdisk', ['--quiet', image], { input: script }).status).toBe(0);
      run('mkfs.fat', '-F', '16', '--offset', '2048', image, '16384');
      const volume = await openVolume(image, 'read');
      expect(volume.facts).toMatchObject({
        fileSystem: 'fat16',
        partitionTable: label === 'dos' ? 'mbr' : 'gpt',
        partitions: [
          { number: 1, startByte: mebibyte, bytes: 16 * mebibyte, type: label === 'dos' ? 0x0c : undefined },
          { number: 2, startByte: 20 * mebibyte, bytes: 4 * mebibyte, type: label === 'dos' ? 0x83 : undefined },
        ],
      });
      await volume.close();
    });
  }
});
