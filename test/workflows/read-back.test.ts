import { closeSync, fsyncSync, mkdirSync, openSync, readFileSync, rmdirSync, writeSync } from 'node:fs';
import { join } from 'node:path';
import { afterEach, beforeEach, describe, expect } from 'vitest';
import type { VerifyReport } from '../../src/core/report/reports.ts';
import { verifyStick } from '../../src/workflows/verify-stick.ts';
import { makePublishedArchive, noise, prepare, testPorts } from '../fixtures/desk.ts';
import { attachLoop, canMount, mountVolume, programsFor, unmount } from '../fixtures/volumes/mounts.ts';
import { makeFatImage, makeScratch, makeSparse, run, type Scratch } from '../fixtures/volumes/scratch.ts';
import { itWithout, needs } from '../outside/needs.ts';

const tree = { 'sedge_boot.pkg': noise(1, 20_000), 'images/system.img': noise(2, 400_000) };
const stops = ['file-system-not-taken', 'partition-table-not-taken', 'larger-than-the-panel-takes'];
const accepted = new Map(stops.map((code) => [`stick/${code}`, 'a small mounted volume in a test']));

let scratch: Scratch;
let archivePath: string;

beforeEach(async () => {
  scratch = makeScratch();
  archivePath = await makePublishedArchive(scratch.path, tree);
});
afterEach(() => scratch.undo());

const verify = (target: string): Promise<VerifyReport> =>
  verifyStick({ target, label: undefined, quick: false, replugged: false }, testPorts, {
    tell: () => {},
    signal: new AbortController().signal,
  });

const codesOf = (findings: readonly { readonly code: string }[] | undefined): readonly string[] =>
  (findings ?? []).map(({ code }) => code);

const mounting = (programs: Readonly<Record<string, string>>) =>
  canMount ? needs(programs) : itWithout('the right to mount (run as root)');

/** An ext4 volume on a drive whose reads go past its file's cache, as those of a real drive go past the system's. */
function mountDirect(): string {
  const image = makeSparse(join(scratch.path, 'ext4.img'), 64 * 2 ** 20);
  run('mkfs.ext4', '-q', '-m', '0', image);
  const device = run('losetup', '--find', '--show', '--direct-io=on', image).trim();
  scratch.later(() => run('losetup', '--detach', device));
  const point = join(scratch.path, 'mounted');
  mkdirSync(point);
  run('mount', '-t', 'ext4', device, point);
  scratch.later(() => unmount(point));
  rmdirSync(join(point, 'lost+found'));
  return point;
}

/** Turns one bit where CONTENT lies in the file behind a drive, past whatever the system remembers of the drive. */
function damageBehind(file: string, content: Buffer): void {
  const at = readFileSync(file).indexOf(content);
  expect(at).toBeGreaterThan(0);
  const fd = openSync(file, 'r+');
  writeSync(fd, Buffer.from([(content[100] ?? 0) ^ 1]), 0, 1, at + 100);
  fsyncSync(fd);
  closeSync(fd);
}

describe('what was read back', { tags: ['ready-means-read-back'] }, () => {
  mounting(programsFor.ext4)('came from the medium where the system lets us, and only then it is ready', async () => {
    const point = mountDirect();
    const { report } = await prepare({ archivePath, targets: [point], accepted });
    expect([report.verdict, report.sticks[0]?.manifest?.readBack]).toEqual(['ready', 'medium']);
    expect(codesOf(report.sticks[0]?.findings)).not.toContain('plan/read-back-from-cache');
    expect((await verify(point)).verdict).toBe('ready');
  });

  mounting(programsFor.tmpfs)(
    'came through the cache where it does not, and that is unproven, in report and manifest',
    async () => {
      const point = mountVolume(scratch, 'tmpfs', 16);
      const { report } = await prepare({ archivePath, targets: [point], accepted });
      expect([report.verdict, report.sticks[0]?.manifest?.readBack]).toEqual(['unproven', 'cache']);
      expect(codesOf(report.sticks[0]?.findings)).toContain('plan/read-back-from-cache');
      const verified = await verify(point);
      expect([verified.verdict, codesOf(verified.findings).includes('verify/read-from-cache')]).toEqual([
        'unproven',
        true,
      ]);
    },
  );

  mounting(programsFor.ext4)('is what lies on the medium, not what the system remembers of it', async () => {
    const point = mountDirect();
    await prepare({ archivePath, targets: [point], accepted });
    const firmware = join(point, 'images/system.img');
    expect(readFileSync(firmware).equals(tree['images/system.img'])).toBe(true);
    damageBehind(join(scratch.path, 'ext4.img'), tree['images/system.img'].subarray(0, 4096));
    expect(readFileSync(firmware).equals(tree['images/system.img'])).toBe(true); // from memory
    const { verdict, findings } = await verify(point);
    expect([verdict, findings.find(({ code }) => code === 'verify/changed')?.subject]).toEqual([
      'not-ready',
      'images/system.img',
    ]);
  });

  mounting({ losetup: 'mount' })('of a raw drive is what lies on the medium too', async () => {
    const image = await makeFatImage(join(scratch.path, 'raw.img'), 36 * 2 ** 20, {
      kind: 'fat32',
      clusterBytes: 512,
      partitioned: true,
    });
    const device = attachLoop(scratch, image);
    const wish = {
      archivePath,
      targets: [device],
      accepted: new Map([...accepted, ['stick/not-a-removable-drive', 'a loop device']]),
    };
    const { report } = await prepare(wish);
    const [stick] = report.sticks;
    expect([stick?.state, stick?.error?.message]).toEqual(['written', undefined]);
    const isProven = stick?.manifest?.readBack === 'medium';
    expect(codesOf(stick?.findings).includes('plan/read-back-from-cache')).toBe(!isProven);
    const fd = openSync(device, 'r');
    readFileSync(fd); // the system now remembers all of the drive
    damageBehind(image, tree['images/system.img'].subarray(0, 512));
    const { verdict } = await verify(device);
    closeSync(fd);
    if (isProven) expect(verdict).toBe('not-ready');
    else expect(verdict).not.toBe('ready');
  });
});
