import { mkdirSync, rmSync, writeFileSync } from 'node:fs';
import { readFile } from 'node:fs/promises';
import { join } from 'node:path';
import { afterAll, beforeAll, describe, expect } from 'vitest';
import { verifyStick } from '../../src/workflows/verify-stick.ts';
import {
  contentAt,
  firmwareTree,
  makeArchive,
  packageName,
  panelLabel,
  prepare,
  sha256,
  testPorts,
} from '../fixtures/desk.ts';
import { canMount, type MountedKind, mountVolume, programsFor } from '../fixtures/volumes/mounts.ts';
import { makeScratch, type Scratch } from '../fixtures/volumes/scratch.ts';
import { itWithout, needs } from './needs.ts';

let scratch: Scratch;
let archivePath: string;

beforeAll(async () => {
  scratch = makeScratch();
  archivePath = await makeArchive(scratch.path);
});
afterAll(() => scratch.undo());

/** A mount of this machine is no USB stick; everything else is judged as on one. */
const accepted = new Map([['stick/partition-table-not-taken', 'a mounted image has none']]);

/** For in-OS mode these are no file systems of a panel, but they tell names apart. */
const acceptedAnywhere = new Map([...accepted, ['stick/file-system-not-taken', 'a mount in a test']]);

const verify = async (target: string) =>
  verifyStick({ target, label: panelLabel, quick: false, replugged: true }, testPorts, {
    tell: () => {},
    signal: new AbortController().signal,
  });

const codesOf = (findings: readonly { readonly code: string }[] | undefined) =>
  (findings ?? []).map(({ code }) => code);

const itMounted = (kind: MountedKind) =>
  canMount ? needs(programsFor[kind]) : itWithout('the right to mount (run as root)');

// exFAT by relan's exfat-fuse on a volume of exfatprogs, NTFS by ntfs-3g: drivers and formatters that nobody here
// wrote.
describe('a mounted volume', () => {
  itMounted('exfat')('of exFAT is prepared for in-OS mode, verified, and right for another reader', async () => {
    const point = mountVolume(scratch, 'exfat', 64);
    const { report } = await prepare({ archivePath, targets: [point], mode: 'in-os', accepted });
    expect(report.sticks[0]?.error).toBeUndefined();
    expect(report.sticks[0]?.facts?.fileSystem).toBe('exfat');
    expect(report.sticks[0]?.state).toBe('written');
    expect((await verify(point)).verdict).not.toBe('not-ready');
    expect(Object.keys(await contentAt(point))).toContain(packageName);
  });

  for (const kind of ['exfat', 'ext4', 'tmpfs'] as const) {
    itMounted(kind)(
      `of ${kind}: a name that folds alike, and firmware in a folder of the system, are told`,
      async () => {
        const point = mountVolume(ownScratch(), kind, 64);
        const wish = { archivePath, mode: 'in-os', accepted: acceptedAnywhere } as const;
        expect((await prepare({ ...wish, targets: [point] })).report.sticks[0]?.state).toBe('written');
        expect((await verify(point)).verdict).not.toBe('not-ready');
        const twin = kind === 'exfat' ? packageName.replace('K', '\u212a') : packageName.toLowerCase();
        writeFileSync(join(point, twin), 'other');
        const told = (await verify(point)).findings.find(({ code }) => code === 'verify/unexpected');
        expect(told?.facts).toEqual({ paths: [twin] });
        rmSync(join(point, twin));
        mkdirSync(join(point, 'LOST.DIR'));
        writeFileSync(join(point, 'LOST.DIR', '1'), await readFile(archivePath));
        expect(codesOf((await verify(point)).findings)).toContain('verify/firmware-inside');
      },
    );
  }

  itMounted('exfat')('of exFAT is refused for a recovery that wants FAT32', async () => {
    const point = mountVolume(ownScratch(), 'exfat', 64);
    const { report } = await prepare({ archivePath, targets: [point], mode: 'recovery', accepted });
    expect(codesOf(report.sticks[0]?.findings)).toContain('stick/file-system-not-taken');
    expect(report.sticks[0]?.state).toBe('refused');
    expect(await contentAt(point)).toEqual({});
  });

  itMounted('ntfs')('of NTFS is refused in both modes', async () => {
    const point = mountVolume(scratch, 'ntfs', 64);
    for (const mode of ['in-os', 'recovery'] as const) {
      const { report } = await prepare({ archivePath, targets: [point], mode, accepted });
      expect(codesOf(report.sticks[0]?.findings)).toContain('stick/file-system-not-taken');
      expect(report.sticks[0]?.state).toBe('refused');
    }
  });

  itMounted('ext4')(
    'of a system that panels do not read is prepared only with a reason, and says so ever after',
    async () => {
      const point = mountVolume(scratch, 'ext4', 64);
      const reasons = new Map([...accepted, ['stick/file-system-not-taken', 'to be copied to the real stick']]);
      const { report } = await prepare({ archivePath, targets: [point], accepted: reasons });
      expect(report.sticks[0]?.state).toBe('written');
      const content = await contentAt(point);
      for (const [path, bytes] of Object.entries(firmwareTree)) expect(content[path]).toBe(sha256(bytes));
      expect(codesOf((await verify(point)).findings)).toContain('verify/override');
    },
  );

  // fusefat 0.1a-3 empties a folder that is renamed (`mv` shows the same); only files are moved on a mounted volume.
  itMounted('fat32')('of FAT32 is prepared in both modes, and verified', async () => {
    const own = ownScratch();
    const point = mountVolume(own, 'fat32', 64);
    for (const mode of ['in-os', 'recovery'] as const) {
      const { report } = await prepare({ archivePath, targets: [point], mode, leftovers: 'remove', accepted });
      expect(report.sticks[0]?.error).toBeUndefined();
      expect(report.sticks[0]?.facts?.fileSystem).toBe('fat32');
      expect(report.sticks[0]?.state).toBe('written');
      expect((await verify(point)).verdict).not.toBe('not-ready');
    }
    const content = await contentAt(point);
    for (const [path, bytes] of Object.entries(firmwareTree)) expect(content[path]).toBe(sha256(bytes));
  });
});

function ownScratch(): Scratch {
  const own = makeScratch();
  scratch.later(() => own.undo());
  return own;
}
