import { execFileSync, spawnSync } from 'node:child_process';
import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, describe, expect } from 'vitest';
import { checkMedium } from '../../src/core/checks/medium/check-medium.ts';
import type { MediumFacts, VolumeFacts } from '../../src/core/volume-format/audit/flaw.ts';
import type { FatKind } from '../../src/core/volume-format/fat-geometry.ts';
import { createStickImage } from '../../src/io/format/image-files.ts';
import { layOutStick } from '../../src/io/format/lay-out-stick.ts';
import { auditMediumAt } from '../../src/io/medium/audit-medium-at.ts';
import { cutVolume } from '../fixtures/media/cut-volume.ts';
import { needs } from './needs.ts';

const folder = mkdtempSync(join(tmpdir(), 'format-'));
afterAll(() => rmSync(folder, { recursive: true, force: true }));

const outside = needs({
  'fsck.fat': 'dosfstools',
  minfo: 'mtools',
  mdir: 'mtools',
  blkid: 'util-linux',
  sfdisk: 'fdisk',
});
const mib = 2 ** 20;
const gib = 2 ** 30;

interface Case {
  readonly bytes: number;
  readonly fileSystem: FatKind;
  readonly clusterBytes?: number;
  /** What fsck.fat would need too long for: it holds the table in memory and walks it slowly. */
  readonly withoutFsck?: true;
}

/**
 * Bytes of a cluster that Microsoft's table names for FAT32 (FAT specification 1.03, DskTableFAT32), worked from its
 * rows by hand.
 */
const byTable: readonly (readonly [number, number])[] = [
  [64 * mib, 512],
  [128 * mib, 512],
  [260 * mib, 512], // the volume is a MiB smaller than the stick: 530,432 sectors
  [262 * mib, 4096],
  [1 * gib, 4096],
  [4e9, 4096],
  [8e9, 4096],
  [16e9, 8192],
  [32e9, 16_384],
  [64e9, 32_768],
];

const everyCluster: readonly Case[] = [512, 1024, 2048, 4096, 8192, 16_384, 32_768, 65_536].map((clusterBytes) => ({
  bytes: clusterBytes * 70_000,
  fileSystem: 'fat32',
  clusterBytes,
}));

const smaller: readonly Case[] = [
  { bytes: 4 * mib, fileSystem: 'fat12' },
  { bytes: 16 * mib, fileSystem: 'fat16' },
  { bytes: 512 * mib, fileSystem: 'fat16' },
  { bytes: 2 * gib, fileSystem: 'fat16' },
];

const huge: readonly Case[] = [128e9, 256e9, 512e9, 1e12, 2e12].map((bytes) => ({
  bytes,
  fileSystem: 'fat32',
  withoutFsck: true,
}));

/** STICKWRIGHT_SWEEP=1: fsck.fat reads the huge ones too, which takes minutes and gigabytes of memory. */
const sweeps = process.env.STICKWRIGHT_SWEEP === '1';

let made = 0;

async function make(one: Case): Promise<{ image: string; facts: MediumFacts; volume: VolumeFacts }> {
  const image = join(folder, `${made++}.img`);
  const at = new Date('2026-09-14T08:00:00Z');
  const wish = { ...one, partitioned: true, volumeLabel: 'PANEL', volumeSerial: 0x5eed1234, at };
  await createStickImage(image, wish);
  const facts = await auditMediumAt(image);
  const [volume] = facts.volumes;
  if (volume === undefined) throw new Error('no volume was found');
  return { image, facts, volume };
}

/** All programs read what was made, and what they read is what we say of it. */
async function compareWithOthers(one: Case): Promise<void> {
  const { image, facts, volume } = await make(one);
  try {
    expect(
      checkMedium(facts, { target: 'stick', mode: one.fileSystem === 'fat32' ? 'recovery' : 'in-os' }).map(
        ({ code }) => code,
      ),
    ).toEqual(one.fileSystem === 'fat12' ? ['medium/partition-type-not-mounted'] : []);
    compareWithSfdisk(image, facts);
    compareWithBlkid(image, volume);
    compareWithMtools(image, volume);
    if (one.withoutFsck === undefined || sweeps) compareWithFsck(image, volume, one);
  } finally {
    rmSync(image);
  }
}

function compareWithSfdisk(image: string, facts: MediumFacts): void {
  const verify = spawnSync('sfdisk', ['--verify', image], { encoding: 'utf8' });
  expect(verify.stdout + verify.stderr).toMatch(/No errors detected/);
  const [partition] = facts.partitions;
  const dump = execFileSync('sfdisk', ['-d', image], { encoding: 'utf8' });
  const seen = /start=\s*(\d+), size=\s*(\d+), type=\s*([0-9a-f]+)/.exec(dump);
  expect({
    start: Number(seen?.[1]) * 512,
    bytes: Number(seen?.[2]) * 512,
    type: Number.parseInt(seen?.[3] ?? '', 16),
  }).toEqual({
    start: partition?.startByte,
    bytes: partition?.bytes,
    type: partition?.type,
  });
}

function compareWithBlkid(image: string, volume: VolumeFacts): void {
  const text = execFileSync('blkid', ['-p', '-o', 'export', '-O', String(volume.startByte), image], {
    encoding: 'utf8',
  });
  const read = Object.fromEntries(
    text
      .trim()
      .split('\n')
      .map((line) => line.split('=', 2)),
  );
  expect(read).toMatchObject({
    TYPE: 'vfat',
    VERSION: volume.fileSystem.toUpperCase(),
    UUID: volume.serial,
    LABEL: volume.label,
  });
}

function compareWithMtools(image: string, volume: VolumeFacts): void {
  const drive = `${image}@@${volume.startByte}`;
  const info = execFileSync('minfo', ['-i', drive, '::'], { encoding: 'utf8' });
  expect(Number(/cluster size: (\d+) sectors/.exec(info)?.[1]) * 512).toBe(volume.clusterBytes);
  expect(Number(/hidden sectors: (\d+)/i.exec(info)?.[1]) * 512).toBe(volume.startByte);
  if (volume.fileSystem === 'fat32') expect(Number(/free clusters=(\d+)/.exec(info)?.[1])).toBe(volume.freeClusters);
  expect(execFileSync('mdir', ['-i', drive, '::'], { encoding: 'utf8' })).toMatch(
    /Volume in drive : is PANEL[\s\S]*No files/,
  );
}

function compareWithFsck(image: string, volume: VolumeFacts, one: Case): void {
  const { layout } = layOutStick('stick', { ...one, partitioned: true });
  const copy = join(folder, 'volume.img');
  cutVolume(image, copy, (layout.dataFirstSector + layout.clusterSectors) * 512);
  const check = spawnSync('fsck.fat', ['-n', '-v', copy], { encoding: 'utf8' });
  rmSync(copy);
  expect({ status: check.status, out: check.stdout }).toMatchObject({ status: 0 });
  expect(Number(/\/(\d+) clusters/.exec(check.stdout)?.[1])).toBe(volume.clusters);
}

describe('dosfstools, mtools, blkid and sfdisk read what was formatted here, and agree with our facts', () => {
  for (const [bytes, clusterBytes] of byTable) {
    outside(`${bytes} bytes get clusters of ${clusterBytes} bytes, as in the published table`, async () => {
      expect((await make({ bytes, fileSystem: 'fat32' })).volume.clusterBytes).toBe(clusterBytes);
      await compareWithOthers({ bytes, fileSystem: 'fat32' });
    });
  }
  for (const one of [...everyCluster, ...smaller, ...huge]) {
    const cluster = one.clusterBytes === undefined ? '' : ` in clusters of ${one.clusterBytes}`;
    outside(`${one.fileSystem} on ${one.bytes} bytes${cluster}`, () => compareWithOthers(one));
  }
});
