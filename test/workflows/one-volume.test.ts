import { closeSync, copyFileSync, openSync, readFileSync, truncateSync, writeSync } from 'node:fs';
import { join } from 'node:path';
import { afterAll, beforeAll, describe, expect, test } from 'vitest';
import type { Mode } from '../../src/core/model/mode.ts';
import { verifyStick } from '../../src/workflows/verify-stick.ts';
import { makeArchive, prepare, testPorts } from '../fixtures/desk.ts';
import { kernelPrograms, runInKernel } from '../fixtures/kernel/start-kernel.ts';
import { masterBootRecord } from '../fixtures/volumes/format-fat.ts';
import { makeFatImage, makeScratch, type Scratch } from '../fixtures/volumes/scratch.ts';
import { needs } from '../outside/needs.ts';

const mib = 2 ** 20;
const mediumBytes = 56 * mib;
const ownBytes = 36 * mib;
/** Where the second volume lies: behind the first one, with room for the tables of logical drives before it. */
const secondAt = 44 * mib;
const secondBytes = 8 * mib;

const scratch: Scratch = makeScratch();
afterAll(() => scratch.undo());
let archivePath: string;
/** A complete wiping layout, as a volume. */
let second: Buffer;
/** Sticks that are ready, with the volume of 40 MB behind a table, or in sector 0. */
const ready = { recovery: '', 'in-os': '' };

const accepted = new Map([
  ['stick/partition-table-not-taken', 'a part of another medium'],
  ['stick/file-system-not-taken', 'a small one'],
]);
const at = (name: string): string => join(scratch.path, name);

beforeAll(async () => {
  archivePath = await makeArchive(scratch.path);
  const wiping = await makeFatImage(at('second.img'), secondBytes, { kind: 'fat16' });
  expect((await prepare({ archivePath, targets: [wiping], accepted })).report.verdict).not.toBe('not-ready');
  second = readFileSync(wiping);
  for (const mode of ['recovery', 'in-os'] as const) {
    const image = await makeFatImage(at(`${mode}.img`), ownBytes, {
      kind: 'fat32',
      clusterBytes: 512,
      partitioned: mode === 'recovery',
    });
    truncateSync(image, mediumBytes);
    if (mode === 'recovery') put(image, 0, masterBootRecord([first]));
    expect((await prepare({ archivePath, targets: [image], mode })).report.sticks[0]?.state).toBe('written');
    expect((await verify(image)).verdict).not.toBe('not-ready');
    ready[mode] = image;
  }
});

const first = { type: 0x0c, start: mib, bytes: ownBytes - mib };
const entry = (type: number, start = secondAt, bytes = secondBytes) => ({ type, start, bytes });

function put(image: string, byte: number, bytes: Uint8Array): void {
  const file = openSync(image, 'r+');
  writeSync(file, bytes, 0, bytes.length, byte);
  closeSync(file);
}

const verify = (target: string) =>
  verifyStick({ target, label: undefined, quick: false, replugged: true }, testPorts, {
    tell: () => {},
    signal: new AbortController().signal,
  });

/**
 * A GPT's header and first 300 entries of 128 bytes; UEFI specification 2.10, tables 5.5 and 5.6. The checksums are
 * left out.
 */
function gpt(entriesLba: number, places: Readonly<Record<number, readonly [number, number]>>): Buffer {
  const sectors = Buffer.alloc(512 * 76);
  sectors.write('EFI PART', 0, 'latin1');
  sectors.writeUInt32LE(92, 12);
  sectors.writeBigUInt64LE(BigInt(entriesLba), 72);
  sectors.writeUInt32LE(300, 80);
  sectors.writeUInt32LE(128, 84);
  for (const [index, [start, bytes]] of Object.entries(places)) {
    const entryAt = 512 + Number(index) * 128;
    sectors.write('basic data', entryAt, 'latin1');
    sectors.writeBigUInt64LE(BigInt(start / 512), entryAt + 32);
    sectors.writeBigUInt64LE(BigInt((start + bytes) / 512 - 1), entryAt + 40);
  }
  return sectors;
}

/** What a reader that follows one table more finds. Each changes the copy of a stick that was ready. */
const ways: readonly (readonly [string, Mode, (image: string) => void])[] = [
  ...[0x0c, 0x06, 0x07, 0x83, 0x1c, 0x27, 0xda, 0xef].map(
    (type) =>
      [
        `a second partition of type ${type.toString(16)}`,
        'recovery',
        (image: string) => put(image, 0, masterBootRecord([first, entry(type)])),
      ] as const,
  ),
  ...[0x05, 0x0f, 0x85].map(
    (type) =>
      [
        `a logical drive in a container of type ${type.toString(16)}`,
        'recovery',
        (image: string) => {
          put(image, 0, masterBootRecord([first, entry(type, secondAt - mib, secondBytes + mib)]));
          put(image, secondAt - mib, masterBootRecord([entry(0x0c, mib)]));
        },
      ] as const,
  ),
  [
    'the second of two logical drives',
    'recovery',
    (image) => {
      const containerAt = secondAt - 4 * mib;
      put(image, 0, masterBootRecord([first, entry(0x05, containerAt, secondBytes + 4 * mib)]));
      put(image, containerAt, masterBootRecord([entry(0x0c, mib, mib), entry(0x05, 2 * mib, 10 * mib)]));
      put(image, containerAt + 2 * mib, masterBootRecord([entry(0x0c, 2 * mib)]));
    },
  ],
  [
    'a table in the sector where the volume starts',
    'in-os',
    (image) => put(image, 446, masterBootRecord([entry(0x0c)]).subarray(446)),
  ],
  [
    'a boot sector beside the table, which a lenient reader takes',
    'recovery',
    (image) => {
      const boot = Buffer.from(second.subarray(0, 446));
      boot.writeUInt8(3, 16); // three copies of the table: lenient readers use the first
      put(image, 0, boot);
    },
  ],
  [
    'an old GPT at the end',
    'in-os',
    (image) => {
      const old = gpt((mediumBytes - 76 * 512) / 512, { 0: [secondAt, secondBytes] });
      put(image, mediumBytes - 76 * 512, old.subarray(512));
      put(image, mediumBytes - 512, old.subarray(0, 512));
    },
  ],
  [
    'a GPT partition far down its list',
    'recovery',
    (image) => {
      put(image, 0, masterBootRecord([{ type: 0xee, start: 512, bytes: mediumBytes - 512 }]));
      put(image, 512, gpt(2, { 0: [first.start, first.bytes], 290: [secondAt, secondBytes] }));
    },
  ],
  [
    'the mark of another file system in the space that FAT leaves',
    'recovery',
    (image) => put(image, mib + 1080, Buffer.of(0x53, 0xef)), // the superblock's magic of ext
  ],
];

describe('a stick with another volume that some reader could take', () => {
  test.each(ways)('%s', { tags: ['read-alike-by-all'] }, async (name, mode, change) => {
    const image = at(`${name.replaceAll(' ', '-')}.img`);
    copyFileSync(ready[mode], image);
    put(image, secondAt, second);
    // At an address that no table names a volume is nobody's.
    expect((await verify(image)).verdict).not.toBe('not-ready');
    change(image);
    const verified = await verify(image);
    expect(verified.verdict).toBe('not-ready');
    expect(verified.findings.map(({ code }) => code)).toContain('stick/several-volumes');
    const before = readFileSync(image);
    const { report } = await prepare({ archivePath, targets: [image], mode, leftovers: 'remove' });
    expect(report.verdict).toBe('not-ready');
    expect(report.sticks[0]?.findings.map(({ code }) => code)).toContain('stick/several-volumes');
    expect(readFileSync(image).equals(before)).toBe(true);
  });

  test('is not one whose boot sector has text where a table would be', { tags: ['read-alike-by-all'] }, async () => {
    const image = at('text.img');
    copyFileSync(ready['in-os'], image);
    // As in boot sectors of Windows (from memory).
    const text = 'Remove disks or other media.\xff\r\nDisk error\xff\r\nPress any key to restart\r\n';
    for (const sector of [0, 6]) put(image, sector * 512 + 0x1ac, Buffer.from(text, 'latin1'));
    const verified = await verify(image);
    expect(verified.findings.map(({ code }) => code)).not.toContain('stick/several-volumes');
    expect(verified.verdict).not.toBe('not-ready');
  });

  // A start of a kernel takes its time, and the gate has few: `npm run cuts`.
  if (process.env.STICKWRIGHT_CUTS !== 'all') return;
  needs(kernelPrograms)('which is where Linux finds it, wherever Linux goes by that table', async () => {
    const seen = ways.filter(([name]) => !/GPT|lenient|mark/.test(name));
    const disks = seen.map(([, mode, change], index) => {
      const image = at(`${index}.img`);
      copyFileSync(ready[mode], image);
      put(image, secondAt, second);
      change(image);
      return image;
    });
    const found = await runInKernel({
      disks,
      script: 'for disk in /sys/block/ubd*; do cat $disk/*/start | xargs; done',
    });
    const starts = found.trim().split('\n');
    expect(starts).toHaveLength(disks.length);
    for (const [index, line] of starts.entries())
      expect(line.split(' '), seen[index]?.[0]).toContain(`${secondAt / 512}`);
  });
});
