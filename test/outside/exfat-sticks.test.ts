import { copyFileSync, readdirSync, readFileSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { afterAll, afterEach, beforeAll, beforeEach, describe, expect } from 'vitest';
import type { ToolError } from '../../src/core/model/tool-error.ts';
import { openVolume } from '../../src/io/volume/open-volume.ts';
import type { OpenVolume } from '../../src/io/volume/volume.ts';
import { verifyStick } from '../../src/workflows/verify-stick.ts';
import { makeArchive, noise, packageName, panelLabel, prepare, sha256, testPorts } from '../fixtures/desk.ts';
import {
  changeImage,
  ExfatStick,
  exfatPrograms,
  geometryOfExfat,
  markFree,
  putFiles,
  sealSet,
  setOf,
} from '../fixtures/media/exfat-stick.ts';
import { comeBack } from '../fixtures/returned.ts';
import { canMount } from '../fixtures/volumes/mounts.ts';
import { seeded } from '../fixtures/volumes/power-cuts.ts';
import { makeScratch, run, type Scratch } from '../fixtures/volumes/scratch.ts';
import { itWithout, needs } from './needs.ts';

const outside = canMount ? needs(exfatPrograms) : itWithout('the right to mount (run as root)');
/** A mount of this machine is no USB stick. */
const accepted = new Map([['stick/partition-table-not-taken', 'a mounted image has none']]);
const own = { 'letters/to somebody.txt': noise(3, 30_000), 'holiday.jpg': noise(4, 50_000) };

let desk: Scratch;
let archivePath: string;
beforeAll(async () => {
  desk = makeScratch();
  archivePath = await makeArchive(desk.path, {
    'sedge_boot.pkg': noise(1, 90_000),
    'images/system.img': noise(2, 1_000_000),
  });
  writeFileSync(`${archivePath}.sha256`, `${sha256(readFileSync(archivePath))}  ${packageName}\n`);
});
afterAll(() => desk.undo());

let scratch: Scratch;
let stick: ExfatStick;
beforeEach(() => {
  scratch = makeScratch();
  if (canMount) stick = new ExfatStick(scratch, 'stick', 16);
});
afterEach(() => scratch.undo());

const verify = (target: string) =>
  verifyStick({ target, label: panelLabel, quick: false, replugged: true }, testPorts, {
    tell: () => {},
    signal: new AbortController().signal,
  });
const codesOf = (findings: readonly { readonly code: string }[] | undefined): readonly string[] =>
  (findings ?? []).map(({ code }) => code);

async function prepareStick(): Promise<{ state: string | undefined; codes: readonly string[]; error?: ToolError }> {
  const { report } = await prepare({ archivePath, targets: [stick.point], mode: 'in-os', accepted });
  const [answer] = report.sticks;
  return {
    state: answer?.state,
    codes: codesOf(answer?.findings),
    ...(answer?.error === undefined ? {} : { error: answer.error }),
  };
}

/** A prepared stick, out of the computer, with somebody's files on it. */
async function makeReady(): Promise<void> {
  stick.mount();
  putFiles(stick.point, own);
  expect((await prepareStick()).state).toBe('written');
  expect((await verify(stick.point)).verdict).not.toBe('not-ready');
  stick.eject();
  expect(stick.complaint).toBeUndefined();
}

const startOf = (image: Buffer, name: string): number => image.readUInt32LE(setOf(image, name) + 32 + 20);

// The stick as it is sold: exFAT without a partition table, mounted, for in-OS mode.
describe('an unpartitioned exFAT stick whose used clusters are marked free, as a pull leaves them', () => {
  const firmware: readonly (readonly [string, (image: Buffer) => number])[] = [
    ['the archive', (image) => startOf(image, packageName) + 3],
    ['the manifest', (image) => startOf(image, 'manifest.json')],
    ["the record's folder", (image) => startOf(image, 'stickwright')],
  ];
  for (const [what, cluster] of firmware)
    outside(
      `${what}: verify says so, the same command writes it anew, and fsck.exfat is content`,
      { tags: ['ready-means-read-back', 'work-goes-on'] },
      async () => {
        await makeReady();
        changeImage(stick.image, (image) => markFree(image, cluster(image)));
        expect(stick.complaint).toBeDefined();
        stick.mount();
        const told = await verify(stick.point);
        expect(told.verdict).toBe('not-ready');
        expect(codesOf(told.findings)).toContain('medium/way-marked-free');
        const again = await prepareStick();
        expect(again.error).toBeUndefined();
        expect(again.state).toBe('written');
        const after = await verify(stick.point);
        expect(codesOf(after.findings)).not.toContain('medium/way-marked-free');
        expect(after.verdict).not.toBe('not-ready');
        stick.eject();
        expect(stick.complaint).toBeUndefined();
        stick.with((folder) => {
          for (const [path, bytes] of Object.entries(own))
            expect(sha256(readFileSync(join(folder, path)))).toBe(sha256(bytes));
        });
      },
    );

  const others: readonly (readonly [string, (image: Buffer) => number])[] = [
    ["somebody's file", (image) => startOf(image, 'holiday.jpg') + 1],
    ["somebody's folder", (image) => startOf(image, 'letters')],
    ['the root folder', (image) => geometryOfExfat(image).rootCluster],
  ];
  for (const [what, cluster] of others)
    outside(
      `${what}: neither is it ready, nor is anything written there before it is repaired`,
      { tags: ['nobodys-files-vanish'] },
      async () => {
        stick.with((folder) => putFiles(folder, own));
        changeImage(stick.image, (image) => markFree(image, cluster(image)));
        const before = readFileSync(stick.image);
        stick.mount('-o', 'noatime');
        const refused = await prepareStick();
        expect(refused.state).toBe('refused');
        expect(refused.codes).toContain('medium/used-marked-free');
        stick.eject();
        const changed = readFileSync(stick.image).findIndex(
          (byte, at) => byte !== before[at] && ![106, 112].includes(at),
        );
        expect(changed).toBe(-1);
        // What it says is to be done: all can be copied off, and a formatted one takes it back.
        const saved = join(scratch.path, 'saved');
        stick.with((folder) => run('cp', '-r', folder, saved));
        run('mkfs.exfat', stick.image);
        stick.mount();
        run('sh', '-c', 'cp -r "$0"/* "$1"', saved, stick.point);
        expect((await prepareStick()).state).toBe('written');
        expect((await verify(stick.point)).verdict).not.toBe('not-ready');
        for (const [path, bytes] of Object.entries(own))
          expect(sha256(readFileSync(join(stick.point, path)))).toBe(sha256(bytes));
        stick.eject();
        expect(stick.complaint).toBeUndefined();
      },
    );

  outside('after the stick was ready: verify says it of anything on the stick', async () => {
    await makeReady();
    changeImage(stick.image, (image) => markFree(image, startOf(image, 'holiday.jpg')));
    stick.mount();
    const told = await verify(stick.point);
    expect([told.verdict, codesOf(told.findings)]).toEqual([
      'not-ready',
      expect.arrayContaining(['medium/used-marked-free']),
    ]);
  });

  outside(
    'when it comes back from the panel it is said too, and cleared where that takes nothing of others',
    async () => {
      await makeReady();
      changeImage(stick.image, (image) => markFree(image, startOf(image, packageName)));
      stick.mount();
      const back = await comeBack({ target: stick.point, clear: true });
      expect(codesOf(back.findings)).toContain('medium/way-marked-free');
      expect(readdirSync(stick.point).toSorted()).toEqual(['holiday.jpg', 'letters']);
      stick.eject();
      expect(stick.complaint).toBeUndefined();
    },
  );

  outside('when it comes back with a file of somebody that shares its place, nothing is cleared', async () => {
    await makeReady();
    changeImage(stick.image, (image) => {
      image.writeUInt32LE(startOf(image, packageName), setOf(image, 'holiday.jpg') + 32 + 20);
      sealSet(image, setOf(image, 'holiday.jpg'));
    });
    stick.mount('-o', 'noatime');
    const before = readFileSync(stick.image);
    const back = await comeBack({ target: stick.point, clear: true });
    expect(codesOf(back.findings)).toContain('medium/way-shared');
    expect(codesOf(back.clearing?.findings)).toContain('returned/repair-first');
    expect((await prepareStick()).codes).toContain('medium/way-shared');
    stick.eject();
    const changed = readFileSync(stick.image).findIndex((byte, at) => byte !== before[at] && ![106, 112].includes(at));
    expect(changed).toBe(-1);
  });
});

const seed = Number(process.env.STICKWRIGHT_SEED ?? 20261128);
const cuts = process.env.STICKWRIGHT_CUTS === 'all' ? 60 : 8;

describe('an unpartitioned exFAT stick that is pulled while it is prepared', () => {
  // The loop device's file holds what the power leaves: the rest is in the driver and in the system.
  outside(
    'is not ready before it is, is finished by the same command or told how, and nobody loses a file',
    { tags: ['work-goes-on', 'ready-is-on-the-medium', 'nobodys-files-vanish'], timeout: 60_000 + cuts * 20_000 },
    async () => {
      stick.with((folder) => putFiles(folder, own));
      const fresh = readFileSync(stick.image);
      const events = await countEvents();
      const random = seeded(seed);
      const moments = new Set(Array.from({ length: cuts }, () => Math.floor(random() * events)));
      writeFileSync(stick.image, fresh);
      const left: string[] = [];
      stick.mount();
      await prepareHearing((index) => {
        if (!moments.has(index)) return;
        const path = join(scratch.path, `cut ${index}.img`);
        copyFileSync(stick.image, path);
        left.push(path);
      });
      stick.eject();
      expect(left).toHaveLength(moments.size);
      const said: string[] = [];
      for (const path of left) said.push(await goOn(path));
      expect(said.filter((one) => one === 'written').length, said.join('\n')).toBeGreaterThan(moments.size / 2);
    },
  );
});

/** HEAR is told before each thing that is done on the stick. */
async function prepareHearing(hear: (index: number) => void): Promise<void> {
  let index = 0;
  const openHearing: OpenVolume = async (...words) =>
    new Proxy(await openVolume(...words), {
      get: (volume, name) => {
        const own: unknown = Reflect.get(volume, name);
        if (typeof own === 'function') hear(index++);
        return own;
      },
    });
  const wish = { archivePath, targets: [stick.point], mode: 'in-os', accepted } as const;
  const { report } = await prepare(wish, { ...testPorts, openVolume: openHearing });
  expect(report.sticks[0]?.state).toBe('written');
}

async function countEvents(): Promise<number> {
  let events = 0;
  stick.mount();
  await prepareHearing(() => void events++);
  stick.eject();
  return events;
}

/** The same command on what the cut left in IMAGE, judged by fsck.exfat and by what lies there; what became of it. */
async function goOn(image: string): Promise<string> {
  copyFileSync(image, stick.image);
  const before = stick.complaint;
  stick.mount();
  const found = await verify(stick.point);
  if (before !== undefined) expect(found.verdict, before).toBe('not-ready');
  const again = await prepareStick();
  const after = await verify(stick.point);
  const files = Object.entries(own).filter(
    ([path, bytes]) => sha256(readFileSync(join(stick.point, path))) !== sha256(bytes),
  );
  expect(files.map(([path]) => path)).toEqual([]);
  stick.eject();
  if (again.state !== 'written' && again.state !== 'unchanged') {
    expect(after.verdict).toBe('not-ready');
    expect(again.codes.length + (again.error === undefined ? 0 : 1), image).toBeGreaterThan(0);
    return `${again.state}: ${again.codes.join(' ')} ${again.error?.code ?? ''}`;
  }
  expect(codesOf(after.findings).filter((code) => code.startsWith('medium/'))).toEqual([]);
  expect(after.verdict).not.toBe('not-ready');
  expect(stick.complaint).toBeUndefined();
  return 'written';
}
