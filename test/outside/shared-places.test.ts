import { readFileSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { afterEach, beforeEach, describe, expect } from 'vitest';
import { textsOf } from '../../src/core/findings/finding.ts';
import type { LeftoverPolicy } from '../../src/core/model/mode.ts';
import { verifyStick } from '../../src/workflows/verify-stick.ts';
import { makeArchive, noise, prepare, sha256, testPorts } from '../fixtures/desk.ts';
import { makeStick, repairStick, seeStick, stickPrograms } from '../fixtures/kernel/kernel-sticks.ts';
import { canMount, mountImage, programsFor, unmount } from '../fixtures/volumes/mounts.ts';
import { mtools } from '../fixtures/volumes/mtools.ts';
import { makeScratch, type Scratch } from '../fixtures/volumes/scratch.ts';
import { itWithout, needs } from './needs.ts';

// Two names for one place, as a pull leaves them on Linux's vfat: the entry with the new name was written, the old one
// not yet taken away. mtools makes the sticks, fsck.fat judges them, and fusefat is the driver of the mounted ones.
const outside = canMount
  ? needs({ ...stickPrograms, ...programsFor.fat32 })
  : itWithout('the right to mount (run as root)');
const tags = ['nobodys-files-vanish'];

const partitionBytes = 2 ** 20;
const older = noise(12, 280_000);
const aside = 'set-aside-20261128T213737Z';

let scratch: Scratch;
let archivePath: string;
beforeEach(async () => {
  scratch = makeScratch();
  archivePath = await makeArchive(scratch.path);
});
afterEach(() => scratch.undo());

/** Where the slot with this short name lies. */
function slotOf(image: Buffer, short: string): number {
  const at = image.indexOf(short, partitionBytes, 'latin1');
  if (at < 0) throw new Error(`no ${short}`);
  return at;
}

/** Gives the name in the slot SECOND the place of FIRST, some CLUSTERS on; and its length, where BYTES is not given. */
function lead(
  path: string,
  second: string,
  first: string,
  { clusters = 0, bytes }: { clusters?: number; bytes?: number } = {},
) {
  const image = readFileSync(path);
  const [from, to] = [slotOf(image, first), slotOf(image, second)];
  const start = image.readUInt16LE(from + 26) + clusters; // DIR_FstClusLO; these volumes are small
  image.writeUInt16LE(start, to + 26);
  image.writeUInt32LE(bytes ?? image.readUInt32LE(from + 28), to + 28);
  writeFileSync(path, image);
}

/** A stick with FILES and FOLDERS; what `makeStick` cannot make are files in folders. */
async function stickWith(files: Readonly<Record<string, Buffer>>, ...folders: readonly string[]): Promise<string> {
  const path = await makeStick(join(scratch.path, 'stick.img'));
  for (const folder of folders) mtools('mmd', `${path}@@1M`, `::/${folder}`);
  for (const [name, bytes] of Object.entries(files)) {
    writeFileSync(join(scratch.path, 'part'), bytes);
    mtools('mcopy', `${path}@@1M`, join(scratch.path, 'part'), `::/${name}`);
  }
  return path;
}

/** Firmware of an earlier build, pulled while it got its set-aside name. */
async function pulledStick(): Promise<string> {
  const path = await stickWith(
    {
      'images/SYSTEM.IMG': older,
      [`${aside}/images/system.img.set-aside`]: Buffer.alloc(0),
      'HOLIDAY.JPG': noise(9, 20_000),
    },
    'images',
    aside,
    `${aside}/images`,
  );
  lead(path, 'SYSTEM~1SET', 'SYSTEM  IMG');
  return path;
}

const ways = ['image', 'mounted'] as const;

/** Prepares the stick in IMAGE as a file, or its volume behind a driver. */
async function prepareBy(way: (typeof ways)[number], image: string, leftovers: LeftoverPolicy = 'set-aside') {
  const volume = join(scratch.path, 'volume');
  if (way === 'mounted') writeFileSync(volume, readFileSync(image).subarray(partitionBytes));
  const target = way === 'mounted' ? mountImage(scratch, volume, 'rw+') : image;
  const { report } = await prepare({ archivePath, targets: [target], leftovers });
  if (way === 'mounted') {
    unmount(target);
    writeFileSync(image, Buffer.concat([readFileSync(image).subarray(0, partitionBytes), readFileSync(volume)]));
  }
  const [stick] = report.sticks;
  const shared = stick?.findings.find(({ code }) => code === 'medium/place-shared');
  return { state: stick?.state, words: shared && textsOf(shared) };
}

describe('a file that was pulled while it got another name', () => {
  outside('is left under one of them by the same command on an image or a drive, and is whole', { tags }, async () => {
    const image = await pulledStick();
    expect(seeStick(image, scratch.path).fsck.join('\n')).toContain('share clusters');
    const { state, words } = await prepareBy('image', image);
    expect([state, words]).toEqual(['written', undefined]);
    const { files, fsck } = seeStick(image, scratch.path);
    expect(fsck).toEqual([]);
    expect(Object.values(files).filter((sum) => sum === sha256(older))).toHaveLength(1);
  });

  outside(
    'stops the same command on a mounted stick, before anything is written; a check mends it',
    { tags },
    async () => {
      const image = await pulledStick();
      const before = readFileSync(image);
      const { state, words } = await prepareBy('mounted', image);
      expect(state).toBe('refused');
      expect(words?.seen).toBe(`/${aside}/IMAGES/system.img.set-aside and /IMAGES/SYSTEM.IMG.`);
      expect(words?.todo).toMatch(/^Copy one .* unmount .*fsck\.fat -a.* same command again/);
      expect(readFileSync(image).equals(before)).toBe(true);
      repairStick(image, scratch.path);
      expect(Object.values(seeStick(image, scratch.path).files)).toContain(sha256(older));
      expect((await prepareBy('image', image)).state).toBe('written');
      const { files, fsck } = seeStick(image, scratch.path);
      expect([Object.values(files).includes(sha256(older)), fsck]).toEqual([true, []]);
    },
  );

  for (const way of ways)
    outside(`is told of a folder, too: ${way}`, { tags }, async () => {
      const image = await stickWith(
        { 'images/old.img': older, 'HOLIDAY.JPG': noise(9, 20_000) },
        'images',
        aside,
        `${aside}/images`,
      );
      const bytes = readFileSync(image);
      const start = bytes.readUInt16LE(slotOf(bytes, 'IMAGES     ') + 26);
      bytes.writeUInt16LE(start, bytes.lastIndexOf('IMAGES     ', undefined, 'latin1') + 26);
      writeFileSync(image, bytes);
      const { state, words } = await prepareBy(way, image);
      if (way === 'mounted') expect([state, words?.seen]).toEqual(['refused', `/IMAGES and /${aside}/IMAGES.`]);
      else {
        expect([state, words]).toEqual(['written', undefined]);
        expect(Object.values(seeStick(image, scratch.path).files)).toContain(sha256(older));
      }
    });
});

/** Files of which holiday.jpg has the middle, and what a preparation would do with them. */
const goes = {
  'another package': { name: 'reed.1096_5B_first_home.zip', short: 'REED10~1ZIP', leftovers: 'remove' },
  'another package, set aside': { name: 'reed.1096_5B_first_home.zip', short: 'REED10~1ZIP', leftovers: 'set-aside' },
  'a file under the name of firmware': { name: 'sedge_boot.pkg', short: 'SEDGE_~1PKG', leftovers: 'remove' },
} as const;

describe("a file that shares its place with somebody's", () => {
  for (const [what, { name, short, leftovers }] of Object.entries(goes))
    for (const way of ways)
      outside(`is not removed, moved or written anew: ${what}, ${way}`, { tags }, async () => {
        const image = await stickWith({ [name]: noise(7, 50_000), 'HOLIDAY.JPG': Buffer.alloc(0) });
        lead(image, 'HOLIDAY JPG', short, { clusters: 20, bytes: 20_000 });
        const before = readFileSync(image);
        const { state, words } = await prepareBy(way, image, leftovers);
        expect([words?.seen, state]).toEqual([`/${name} and /HOLIDAY.JPG.`, 'refused']);
        expect(words?.todo).toMatch(/^Copy both .* format/);
        expect(readFileSync(image).equals(before)).toBe(true);
      });

  outside('keeps a set-aside name that has only part of its place', { tags }, async () => {
    const image = await stickWith({ 'HOLIDAY.JPG': noise(9, 20_000), [`${aside}/letter.odt`]: Buffer.alloc(0) }, aside);
    lead(image, 'LETTER  ODT', 'HOLIDAY JPG', { clusters: 3, bytes: 5000 });
    const before = readFileSync(image);
    expect(await prepareBy('image', image)).toMatchObject({ state: 'refused' });
    expect(readFileSync(image).equals(before)).toBe(true);
  });

  outside('is told to whoever verifies, mounted or not; the firmware is right all the same', { tags }, async () => {
    const image = await stickWith({ 'HOLIDAY.JPG': noise(9, 20_000), 'letter.odt': noise(8, 9000) });
    expect((await prepareBy('image', image)).state).toBe('written');
    lead(image, 'LETTER  ODT', 'HOLIDAY JPG', { clusters: 3, bytes: 9000 });
    const volume = join(scratch.path, 'volume');
    writeFileSync(volume, readFileSync(image).subarray(partitionBytes));
    for (const target of [image, mountImage(scratch, volume)]) {
      const request = { target, label: undefined, quick: false, replugged: false };
      const { findings } = await verifyStick(request, testPorts, {
        tell: () => {},
        signal: new AbortController().signal,
      });
      const found = findings.find(({ code }) => code === 'stick/needs-repair');
      expect(found?.facts).toEqual({ codes: ['medium/cross-linked'] });
      expect(found && textsOf(found).todo).toContain('copy what you need off it first');
      expect(findings.filter(({ code }) => code.startsWith('medium/way'))).toEqual([]);
    }
  });

  outside('is named with the other one, a dozen of them, and the rest is counted', { tags }, async () => {
    const names = Array.from({ length: 15 }, (_, at) => `FILE${String(at).padStart(2, '0')}.BIN`);
    const image = await stickWith({
      'HOLIDAY.JPG': noise(9, 20_000),
      ...Object.fromEntries(names.map((name) => [name, Buffer.alloc(0)])),
    });
    for (const name of names) lead(image, name.replace('.', '  '), 'HOLIDAY JPG');
    const facts = await testPorts.auditMedium(image);
    const [found] = facts.volumes.flatMap(({ flaws }) => flaws).filter(({ kind }) => kind === 'cross-linked');
    expect(found?.detail).toMatchObject({ count: 15, paths: names.slice(0, 12).map((name) => `/${name}`) });
    const pairs = names.slice(0, 12).map((name) => ({ first: '/HOLIDAY.JPG', second: `/${name}`, alike: true }));
    expect(found?.detail).toMatchObject({ pairs });
    expect((await prepareBy('image', image)).words?.seen).toMatch(/FILE02\.BIN, 12 more pairs\.$/);
  });
});
