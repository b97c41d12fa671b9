import { mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, beforeAll, describe, expect } from 'vitest';
import { severityOf } from '../../src/core/findings/finding.ts';
import type { Mode } from '../../src/core/model/mode.ts';
import { makeArchive, noise, packageName, prepare } from '../fixtures/desk.ts';
import { makeStick, seeStick, stickPrograms } from '../fixtures/kernel/kernel-sticks.ts';
import { canMount, mountImage, programsFor } from '../fixtures/volumes/mounts.ts';
import { mtools } from '../fixtures/volumes/mtools.ts';
import { makeScratch } from '../fixtures/volumes/scratch.ts';
import { itWithout, needs } from './needs.ts';

// FAT sticks whose two allocation tables differ in one entry (mshowfat says in which): mounted by fusefat, a driver
// that nobody here wrote, and raw. fsck.fat judges what is made of them.
const mounting = canMount
  ? needs({ ...programsFor.fat32, mshowfat: 'mtools' })
  : itWithout('the right to mount (run as root)');
const folder = mkdtempSync(join(tmpdir(), 'stickwright tables-'));
const volumeStart = 2 ** 20;
/** In-OS mode, whose one file has a long name: fusefat shows short ones in capitals, which would be other names. */
const mode = 'in-os';
let archivePath: string;
/** A stick that was prepared, as it is on the medium. */
let medium: Buffer;
beforeAll(async () => {
  archivePath = await makeArchive(folder);
  const path = await makeStick(join(folder, 'stick.img'), { 'film of a party.mp4': noise(3, 500_000) });
  const { report } = await prepare({ archivePath, targets: [path], mode });
  expect(report.sticks[0]?.state).toBe('written');
  medium = readFileSync(path);
});
afterAll(() => rmSync(folder, { recursive: true, force: true }));

const accepted = new Map([['stick/partition-table-not-taken', 'a mounted image has none']]);

/** Where the chain of what is called NAME begins; of the root: FAT specification 1.03, BPB_RootClus. */
function firstCluster(name: string, stick = medium): number {
  if (name === '/') return stick.readUInt32LE(volumeStart + 44);
  const path = join(folder, 'asked.img');
  writeFileSync(path, stick);
  return Number(/<(\d+)/.exec(mtools('mshowfat', `${path}@@1M`, `::/${name}`))?.[1]);
}

/** Where the entry of CLUSTER begins and ends ("Boot Sector and BPB"). */
function tableEntry(volume: Buffer, table: number, cluster: number): [number, number] {
  const at = (volume.readUInt16LE(14) + table * volume.readUInt32LE(36)) * 512 + cluster * 4;
  return [at, at + 4];
}

/** The volume, whose second table has another value for CLUSTER. */
function withOtherEntry(cluster: number, stick = medium): Buffer {
  const volume = Buffer.from(stick.subarray(volumeStart));
  const [at] = tableEntry(volume, 1, cluster);
  volume.writeUInt32LE((volume.readUInt32LE(at) ^ 0x10) >>> 0, at);
  return volume;
}

/** Far behind everything on the stick, so that nothing else is written into its sector of the table. */
const freeCluster = 40_000;

/** The volume, whose root has just got another cluster, empty, in one TABLE alone. */
function withGrownRoot(table: 0 | 1): Buffer {
  const volume = Buffer.from(medium.subarray(volumeStart));
  volume.writeUInt32LE(freeCluster, tableEntry(volume, table, firstCluster('/'))[0]);
  volume.writeUInt32LE(0x0fff_ffff, tableEntry(volume, table, freeCluster)[0]);
  return volume;
}

/** Fusefat takes a mark out of both tables while the volume is mounted ("FAT Data Structure", FAT[1]). */
function withoutMark(volume: Buffer): Buffer {
  const copy = Buffer.from(volume);
  for (const table of [0, 1]) copy.fill(0, ...tableEntry(volume, table, 1));
  return copy;
}

/** What is said of VOLUME, mounted, and what it is afterwards. */
async function prepareMounted(volume: Buffer, dryRun: boolean) {
  const scratch = makeScratch();
  try {
    const path = join(scratch.path, 'volume.img');
    writeFileSync(path, volume);
    const target = mountImage(scratch, path, 'rw+');
    return { ...(await answerTo({ target, mode, dryRun })), after: readFileSync(path) };
  } finally {
    scratch.undo();
  }
}

/** The same of a whole stick that nobody has mounted. */
async function prepareRaw(stick: Buffer, mode: Mode, dryRun = false) {
  const target = join(folder, 'raw.img');
  writeFileSync(target, stick);
  return { ...(await answerTo({ target, mode, dryRun })), after: readFileSync(target) };
}

async function answerTo({ target, ...how }: { target: string; mode: Mode; dryRun: boolean }) {
  const { report } = await prepare({ archivePath, targets: [target], accepted, ...how });
  const [answer] = report.sticks;
  const stops = answer?.findings
    .filter((found) => severityOf(found) === 'stop')
    .map(({ code, facts }) => ({ code, facts }));
  return { state: answer?.state, stops };
}

describe('a mounted stick whose tables differ', () => {
  mounting(
    'for the root, which no preparation makes anew, is stopped at the plan, and nothing is written',
    { tags: ['plan-before-touch', 'read-alike-by-all'] },
    async () => {
      const volume = withOtherEntry(firstCluster('/'));
      for (const dryRun of [true, false]) {
        const { state, stops, after } = await prepareMounted(volume, dryRun);
        expect(stops).toEqual([{ code: 'medium/way-tables-differ', facts: { count: 1, paths: ['/'] } }]);
        expect(state).toBe('refused');
        expect(withoutMark(after).equals(withoutMark(volume))).toBe(true);
      }
    },
  );

  mounting('for the firmware is finished: it is written anew, elsewhere', { tags: ['work-goes-on'] }, async () => {
    const { state, stops, after } = await prepareMounted(withOtherEntry(firstCluster(packageName)), false);
    expect([state, stops]).toEqual(['written', []]);
    expect(after.equals(medium.subarray(volumeStart))).toBe(false);
  });
});

describe('a raw stick whose tables differ', () => {
  const raw = needs({ ...stickPrograms, mshowfat: 'mtools' });
  const tags = ['plan-before-touch', 'read-alike-by-all'];
  const onStick = (volume: Buffer): Buffer => Buffer.concat([medium.subarray(0, volumeStart), volume]);

  async function expectStopAtPlan(stick: Buffer, mode: Mode, paths: readonly string[]): Promise<void> {
    for (const dryRun of [true, false]) {
      const { state, stops, after } = await prepareRaw(stick, mode, dryRun);
      expect(stops).toEqual([{ code: 'medium/way-tables-differ', facts: { count: 1, paths } }]);
      expect(state).toBe('refused');
      expect(after.equals(stick)).toBe(true);
    }
  }

  raw('for the root is stopped at the plan, and nothing is written', { tags }, async () => {
    await expectStopAtPlan(onStick(withOtherEntry(firstCluster('/'))), mode, ['/']);
  });

  raw('where only the second table has a cluster of the root with a name in it', { tags }, async () => {
    const volume = withGrownRoot(1);
    const dataStart = (volume.readUInt16LE(14) + 2 * volume.readUInt32LE(36)) * 512;
    volume.write('LETTER  TXT ', dataStart + (freeCluster - 2) * volume.readUInt8(13) * 512, 'latin1');
    await expectStopAtPlan(onStick(volume), mode, ['/']);
  });

  raw('for a folder that is wanted is stopped at the plan, and nothing is written', { tags }, async () => {
    const fresh = readFileSync(await makeStick(join(folder, 'fresh.img')));
    const { state, after } = await prepareRaw(fresh, 'recovery');
    expect(state).toBe('written');
    const volume = withOtherEntry(firstCluster('images', after), after);
    await expectStopAtPlan(onStick(volume), 'recovery', ['/IMAGES']);
  });

  raw('where the root had just grown when it was pulled is finished', { tags: ['work-goes-on'] }, async () => {
    for (const table of [0, 1] as const) {
      const stick = onStick(withGrownRoot(table));
      expect(await prepareRaw(stick, mode, true)).toMatchObject({ state: 'planned', stops: [] });
      const { state, stops } = await prepareRaw(stick, mode);
      expect([state, stops]).toEqual(['written', []]);
      const { files, fsck } = seeStick(join(folder, 'raw.img'), folder);
      // A cluster that only the second table has belongs to no name.
      expect(fsck.filter((line) => table === 0 || !/^FATs differ but|^ *Using first FAT/.test(line))).toEqual([]);
      expect(Object.keys(files)).toEqual(expect.arrayContaining([packageName, 'film of a party.mp4']));
    }
  });
});
