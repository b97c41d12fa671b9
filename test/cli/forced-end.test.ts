import { spawnSync } from 'node:child_process';
import { copyFileSync, existsSync, mkdtempSync, readdirSync, readFileSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join, resolve } from 'node:path';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { openFileDevice } from '../../src/io/volume/file-device.ts';
import { openVolume } from '../../src/io/volume/open-volume.ts';
import { makeArchive, noise, panelLabel, sha256 } from '../fixtures/desk.ts';
import { seeded } from '../fixtures/volumes/power-cuts.ts';
import { makeFatImage, run } from '../fixtures/volumes/scratch.ts';
import { needs } from '../outside/needs.ts';

/** `npm run cuts` ends it at every write; `npm test` at a sample. */
const all = process.env.STICKWRIGHT_CUTS === 'all';
const preload = resolve('test/fixtures/end-at-write.cjs');
const mebibyte = 2 ** 20;
const stickBytes = 64 * mebibyte;
const clusterBytes = 512;

let folder: string;
let archive: string;
let hash: string;
let empty: string;
beforeAll(async () => {
  folder = mkdtempSync(join(tmpdir(), 'stickwright forced-'));
  // More than half of the stick: it does not fit beside what an earlier run still holds.
  const tree = { 'sedge_boot.pkg': noise(1, 300_000), 'images/system.img': Buffer.alloc(40 * mebibyte, 2) };
  archive = await makeArchive(folder, tree);
  hash = sha256(readFileSync(archive));
  empty = await makeFatImage(join(folder, 'empty.img'), stickBytes, { kind: 'fat32', clusterBytes, partitioned: true });
});
afterAll(() => rmSync(folder, { recursive: true, force: true }));

type Way = 'SIGKILL' | 'twice';

interface End {
  readonly path: string;
  readonly at: number;
  readonly by: Way;
}

/** Runs the command; with END it is ended in the middle of its work. */
function ask(words: readonly string[], end?: End) {
  const counted = join(folder, 'count');
  const before = end === undefined ? [] : ['--require', preload];
  const ending = end && { END_PATH: end.path, END_AT: String(end.at), END_BY: end.by, END_COUNT: counted };
  const { status, signal, stdout, stderr } = spawnSync(process.execPath, [...before, 'bin/stickwright.js', ...words], {
    encoding: 'utf8',
    env: { ...process.env, STICKWRIGHT_FAMILIES: 'samples/families', NO_COLOR: '1', ...ending },
  });
  const writes = existsSync(counted) ? Number(readFileSync(counted, 'utf8')) : 0;
  rmSync(counted, { force: true });
  return { status, signal, said: `${stdout}${stderr}`.replace(/\s+/g, ' '), writes };
}

const always = ['--mode', 'recovery', '--label', panelLabel, '--running', 'reed.746', '--yes', '--expect-sha256'];
const onto = (image: string) => ['prepare', archive, ...always, hash, '--stick', image];

function newStick(): string {
  const image = join(folder, 'stick.img');
  copyFileSync(empty, image);
  return image;
}

async function freeBytesOn(image: string): Promise<number> {
  const volume = await openVolume(image, 'read');
  await volume.close();
  return volume.facts.freeBytes;
}

/** Moments from the first write to the last. */
function moments(writes: number, count: number, seed: number): readonly number[] {
  if (all) return Array.from({ length: writes }, (_, at) => at + 1);
  const random = seeded(seed);
  return Array.from({ length: count }, (_, at) => 1 + Math.floor(((at + random()) / count) * writes));
}

describe('a run that is ended by force while it writes an image', { tags: ['work-goes-on'] }, () => {
  for (const by of ['SIGKILL', 'twice'] as const) {
    it(`is finished by the same command, whenever that was (${by})`, async () => {
      const whole = newStick();
      const { status, writes } = ask(onto(whole), { path: whole, at: 0, by });
      expect(status).toBe(0);
      expect(writes).toBeGreaterThan(150);
      const expected = await freeBytesOn(whole);
      for (const at of moments(writes, 4, by.length)) {
        const image = newStick();
        const first = ask(onto(image), { path: image, at, by });
        expect(by === 'SIGKILL' ? first.signal : first.status, `at write ${at}`).toBe(by === 'SIGKILL' ? by : 130);
        const again = ask(onto(image));
        expect(again.said, `at write ${at}`).not.toContain('Not enough free space');
        expect(again.status, `at write ${at}: ${again.said}`).toBe(0);
        const { status, said } = ask(['verify', image, '--replugged', '--label', panelLabel]);
        expect(said).toContain('READY');
        expect(status, `at write ${at}: ${said}`).toBe(0);
        // Making a folder takes one cluster before the folder has its name.
        expect(expected - (await freeBytesOn(image)), `at write ${at}`).toBeLessThanOrEqual(clusterBytes);
      }
    }, 600_000);
  }

  it('again and again is finished all the same', async () => {
    const image = newStick();
    for (const at of [60, 40, 100, 20]) ask(onto(image), { path: image, at, by: at % 40 === 0 ? 'SIGKILL' : 'twice' });
    expect(ask(onto(image)).status).toBe(0);
    expect(ask(['verify', image, '--replugged']).status).toBe(0);
  }, 120_000);
});

describe('other work that is ended by force', { tags: ['work-goes-on'] }, () => {
  it.each(['SIGKILL', 'twice'] as const)(
    'an image that is being made (%s)',
    (by) => {
      const image = join(folder, `made ${by}.img`);
      const words = ['prepare', archive, ...always, hash, '--image', image, '--size', '64MB'];
      for (const at of [30, 90]) {
        ask(words, { path: `${image}.part`, at, by });
        expect(existsSync(image)).toBe(false);
      }
      expect(ask(words).status).toBe(0);
      expect(ask(['verify', image, '--replugged']).status).toBe(0);
      expect(readdirSync(folder).filter((name) => name.endsWith('.part'))).toEqual([]);
    },
    120_000,
  );

  it.each(['SIGKILL', 'twice'] as const)(
    'a format (%s)',
    (by) => {
      const image = newStick();
      const words = ['format', image, '--for', 'recovery', '--yes', '--family', 'samples/families/sedge.yaml'];
      for (const at of [1, 2, 3]) ask(words, { path: image, at, by });
      expect(ask(words).status).toBe(0);
      expect(ask(onto(image)).status).toBe(0);
    },
    120_000,
  );

  it.each(['SIGKILL', 'twice'] as const)(
    'a proof of the free space (%s)',
    async (by) => {
      const image = newStick();
      const expected = await freeBytesOn(image);
      const words = ['prove', image, '--free-space', '--yes'];
      for (const at of [30, 90]) {
        const { status } = ask(words, { path: image, at, by });
        expect(status).not.toBe(0);
      }
      expect([0, 4]).toContain(ask(words).status);
      expect(expected - (await freeBytesOn(image))).toBeLessThanOrEqual(2 * clusterBytes);
    },
    120_000,
  );
});

needs({ 'fsck.fat': 'dosfstools' })(
  'space that belongs to no file is told as that, and not as a stick that is too small',
  { tags: ['work-goes-on', 'nobodys-files-vanish'] },
  async () => {
    const image = newStick();
    const volume = await openVolume(image, 'write');
    const writer = await volume.create('GONE.BIN', 40 * mebibyte);
    for (let part = 0; part < 40; part++) await writer.write(Buffer.alloc(mebibyte, part));
    await writer.close();
    await volume.close();
    // The name goes and the chain stays, as when a write is cut off by a version that named its files last.
    const device = openFileDevice(image, 'write');
    const sector = new Uint8Array(512);
    for (let at = 0; ; at++) {
      device.readSectors(at, sector);
      const slot = Buffer.from(sector).indexOf('GONE    BIN');
      if (slot === -1) continue;
      sector[slot] = 0xe5;
      device.writeSectors(at, sector);
      break;
    }
    await device.close();
    const before = readFileSync(image);
    const { status, said } = ask(onto(image));
    expect(status).toBe(1);
    expect(said).toContain('An interrupted write holds the space [plan/space-belongs-to-nobody]');
    expect(said).toContain('stickwright format');
    expect(said).not.toContain('plan/does-not-fit');
    expect(readFileSync(image).equals(before)).toBe(true);
    expect(ask(['format', image, '--for', 'recovery', '--yes', '--family', 'samples/families/sedge.yaml']).status).toBe(
      0,
    );
    expect(ask(onto(image)).status).toBe(0);
  },
  120_000,
);

needs({ 'fsck.fat': 'dosfstools' })('what a forced end leaves belongs to a name, as fsck.fat sees it', () => {
  const image = newStick();
  for (const at of [60, 110]) {
    ask(onto(image), { path: image, at, by: 'SIGKILL' });
    run('dd', `if=${image}`, `of=${image}.volume`, 'bs=1M', 'skip=1', 'status=none');
    const { stdout } = spawnSync('fsck.fat', ['-n', `${image}.volume`], { encoding: 'utf8' });
    expect(stdout).toContain('SW-PART.TMP');
    expect(stdout).not.toMatch(/Reclaimed \d+ unused cluster/);
  }
});
