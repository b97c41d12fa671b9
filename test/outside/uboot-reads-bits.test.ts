import { execFileSync } from 'node:child_process';
import { closeSync, existsSync, ftruncateSync, mkdtempSync, openSync, rmSync, writeSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import CRC32 from 'crc-32';
import { afterAll, describe, expect } from 'vitest';
import { type BitStick, bitStickFiles, makeBitStick, verifyImage } from '../fixtures/media/bit-stick.ts';
import { type Change, flipped } from '../fixtures/media/other-fat-readers.ts';
import { runUBoot, uBootRom } from '../fixtures/media/run-u-boot.ts';
import { bitsOf, structuresOf } from '../fixtures/media/structures.ts';
import { seeded } from '../fixtures/volumes/power-cuts.ts';
import { needs } from './needs.ts';

const folder = mkdtempSync(join(tmpdir(), 'u-boot-bits-'));
afterAll(() => rmSync(folder, { recursive: true, force: true }));

const hasRom = existsSync(uBootRom);
const outside = needs({
  'qemu-system-x86_64': 'qemu-system-x86',
  sfdisk: 'fdisk',
  ...(hasRom ? {} : { 'u-boot.rom': 'u-boot-qemu' }),
});

/** `npm run cuts` tries 200 of them. */
const all = process.env.STICKWRIGHT_CUTS === 'all';
const numbers = { fat12: all ? 40 : 0, fat16: all ? 80 : 2, fat32: all ? 80 : 3 };
const seed = 20261129;

/** U-Boot reads the volumes of up to so many sticks in one start: each is a partition of one large one. */
const partsOfADisk = 40;

const crcOf = (bytes: Uint8Array): string => (CRC32.buf(bytes) >>> 0).toString(16).padStart(8, '0');

/** As many sticks as CHANGES, with the one that is sound before them, in one large one with a partition each. */
async function makeDisk(stick: BitStick, changes: readonly Change[]): Promise<string> {
  const disk = join(folder, 'disk.img');
  const volume = stick.image.subarray(stick.startByte);
  const all = [[], ...changes];
  rmSync(disk, { force: true });
  const file = openSync(disk, 'w');
  ftruncateSync(file, 2 ** 20 * 2 + volume.length * all.length);
  for (const [index, change] of all.entries()) {
    const start = 2 ** 20 + volume.length * index;
    for (let at = 0; at < volume.length; at += 4096) {
      const piece = volume.subarray(at, at + 4096);
      if (piece.some((byte) => byte !== 0)) writeSync(file, piece, 0, piece.length, start + at);
    }
    for (const { at, byte } of change) writeSync(file, Uint8Array.of(byte), 0, 1, start + at - stick.startByte);
  }
  closeSync(file);
  const sectors = volume.length / 512;
  const lines = all.map((_, index) => `start=${2048 + sectors * index}, size=${sectors}`);
  execFileSync('sfdisk', ['-q', '--wipe', 'never', '--wipe-partitions', 'never', disk], {
    input: `label: gpt\n${lines.join('\n')}\n`,
    stdio: ['pipe', 'ignore', 'ignore'],
  });
  return disk;
}

const files = Object.entries(bitStickFiles).filter(([, content]) => content.length > 0);

/** U-Boot takes numbers for hexadecimal. */
const commandsFor = (partition: number): readonly string[] => [
  `fatls usb 0:${partition.toString(16)} /`,
  `fatls usb 0:${partition.toString(16)} /images`,
  ...files.flatMap(([path]) => [
    'mw.b 0x2000000 0 0x1000',
    'setenv filesize 0',
    `fatload usb 0:${partition.toString(16)} 0x2000000 "/${path}"`,
    // biome-ignore lint/suspicious/noTemplateCurlyInString: a variable of U-Boot
    'crc32 0x2000000 ${filesize}',
  ]),
];

/** What of a listing is of the firmware: somebody's letter may be called as it likes. */
const shown = (listing: string): string =>
  listing
    .split('\n')
    .filter((line) => /images|sedge|stickwright|\.(img|bin|pkg|dat|zip)$/i.test(line))
    .join('\n');

/** What is not as it must be in the ANSWERS about one partition. */
function faultsIn(answers: readonly string[], sound: readonly string[]): readonly string[] {
  const faults = [0, 1]
    .filter((at) => shown(answers[at] ?? '') !== shown(sound[at] ?? ''))
    .map((at) => `lists ${answers[at]}`);
  const unread = files.filter(([, content], index) => {
    const [loaded = '', summed = ''] = answers.slice(2 + index * 4 + 2, 2 + index * 4 + 4);
    return !loaded.includes(`${content.length} bytes read`) || !summed.includes(`==> ${crcOf(content)}`);
  });
  return [...faults, ...unread.map(([path]) => `does not read ${path}`)];
}

async function takenSample(stick: BitStick, number: number): Promise<readonly { name: string; change: Change }[]> {
  const random = seeded(seed);
  const bits = bitsOf(structuresOf(stick).filter(({ at }) => at >= stick.startByte));
  const taken: { name: string; change: Change }[] = [];
  while (taken.length < number) {
    const bit = bits[Math.floor(random() * bits.length)];
    if (bit === undefined) throw new Error('there is no bit');
    const change = flipped(stick, bit);
    const image = Buffer.from(stick.image);
    for (const { at, byte } of change) image[at] = byte;
    const verdict = await verifyImage(image).then(
      (report) => report.verdict,
      () => 'not-ready',
    );
    if (verdict !== 'not-ready')
      taken.push({ name: `${stick.kind}, ${bit.what}, byte ${bit.at}, bit ${bit.bit}`, change });
  }
  return taken;
}

describe('U-Boot reads the same where a bit on the way is another and verify takes the stick', () => {
  for (const [kind, number] of Object.entries(numbers) as [keyof typeof numbers, number][]) {
    if (number === 0) continue;
    outside(kind, { tags: ['read-alike-by-all'], timeout: all ? 3_600_000 : 300_000 }, async () => {
      const stick = await makeBitStick(kind, folder);
      const trials = await takenSample(stick, number);
      const wrong: string[] = [];
      for (let first = 0; first < trials.length; first += partsOfADisk) {
        const some = trials.slice(first, first + partsOfADisk);
        const disk = await makeDisk(
          stick,
          some.map(({ change }) => change),
        );
        const partitions = some.length + 1;
        const commands = Array.from({ length: partitions }, (_, index) => commandsFor(index + 1));
        const [, ...answers] = await runUBoot(disk, ['usb start', ...commands.flat()], all ? 1_800_000 : 100_000);
        const per = commands[0]?.length ?? 0;
        const of = (partition: number): readonly string[] => answers.slice(partition * per, (partition + 1) * per);
        expect(faultsIn(of(0), of(0)), 'the sound stick').toEqual([]);
        for (const [index, { name }] of some.entries()) {
          const faults = faultsIn(of(index + 1), of(0));
          if (faults.length > 0) wrong.push(`${name}: ${faults.join('; ')}`);
        }
      }
      if (all)
        console.log(
          `U-Boot, ${kind}: ${trials.length} sticks with a bit that verify takes, ${wrong.length} read otherwise`,
        );
      expect(wrong).toEqual([]);
    });
  }
});
