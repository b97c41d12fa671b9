import { appendFileSync, chmodSync, copyFileSync, mkdirSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { basename, join } from 'node:path';
import { afterAll, beforeAll, describe, expect } from 'vitest';
import type { Family } from '../../src/core/model/family.ts';
import type { Mode } from '../../src/core/model/mode.ts';
import { verifyStick } from '../../src/workflows/verify-stick.ts';
import { makeArchive, panelLabel, prepare, sedgeFamily, sha256, testPorts } from '../fixtures/desk.ts';
import { kernelPrograms, runInKernel } from '../fixtures/kernel/start-kernel.ts';
import { attachLoop, canMount, mountVolume, programsFor, unmount } from '../fixtures/volumes/mounts.ts';
import { makeScratch, run, type Scratch } from '../fixtures/volumes/scratch.ts';
import { leftByOthers, type SoundStick, soundCorpora, soundSticks } from '../fixtures/volumes/sound-sticks.ts';
import { itWithout, needs } from './needs.ts';

const isLong = process.env.STICKWRIGHT_CUTS === 'all';
const corpora = process.env.STICKWRIGHT_CORPORA;
const rows = [...soundSticks, ...(corpora === undefined ? [] : soundCorpora(corpora))].filter(
  ({ gate }) => gate || isLong,
);

const scratch: Scratch = makeScratch();
afterAll(() => scratch.undo());
const tree = { 'sedge_boot.pkg': Buffer.alloc(3000, 1), 'images/system.img': Buffer.alloc(9000, 2) };
let archivePath: string;
let families: readonly Family[];

/**
 * A family whose panels take every FAT and every table: whether a stick is sound is asked, and not what one maker
 * takes.
 */
beforeAll(async () => {
  archivePath = await makeArchive(scratch.path, tree);
  writeFileSync(`${archivePath}.sha256`, `${sha256(readFileSync(archivePath))}  ${basename(archivePath)}\n`);
  const fileSystems = { 'file-systems': ['fat12', 'fat16', 'fat32', 'exfat'] as const };
  const recovery = { ...fileSystems, 'partition-table': ['mbr', 'none', 'gpt'] as const };
  families = (await sedgeFamily()).map((family) => ({
    ...family,
    modes: {
      'in-os': { ...family.modes['in-os'], ...fileSystems },
      recovery: { ...family.modes.recovery, ...recovery },
    },
  })) as unknown as readonly Family[];
});

/** What looks like firmware is set aside: one of the corpora has a NAME3.BIN. */
const prepareAt = async (target: string, mode: Mode, accepted = new Map<string, string>()) =>
  (await prepare({ archivePath, targets: [target], mode, families, accepted, leftovers: 'set-aside' })).report;

const verifyAt = (target: string) =>
  verifyStick({ target, label: panelLabel, quick: false, replugged: true }, testPorts, {
    tell: () => {},
    signal: new AbortController().signal,
  });

type Findings = readonly { readonly code: string }[];
const codes = (findings: Findings): string => [...new Set(findings.map(({ code }) => code))].join(' ');

/** STICKWRIGHT_LIST names a file that gets one line a stick and mode: the list of all verdicts. */
function list(name: string, mode: string, verdicts: readonly string[], findings: Findings): void {
  const path = process.env.STICKWRIGHT_LIST;
  if (path !== undefined) appendFileSync(path, `${[name, mode, ...verdicts, codes(findings)].join('\t')}\n`);
}

async function look({ name, modes, make }: SoundStick): Promise<void> {
  for (const mode of modes) {
    const image = join(scratch.path, 'stick.img');
    rmSync(image, { force: true });
    await make(image);
    const report = await prepareAt(image, mode);
    const verified = await verifyAt(image);
    const findings = [...report.findings, ...(report.sticks[0]?.findings ?? []), ...verified.findings];
    list(name, mode, [report.verdict, verified.verdict], findings);
    const spoken = `${mode}: ${codes(findings)}`;
    expect(report.verdict, spoken).not.toBe('not-ready');
    expect(verified.verdict, spoken).not.toBe('not-ready');
    rmSync(image, { force: true });
  }
}

const outside = needs({ 'mkfs.fat': 'dosfstools', mformat: 'mtools', sfdisk: 'fdisk', xxd: 'xxd' });

describe('a sound stick stays ready', () => {
  for (const stick of rows) outside(stick.name, () => look(stick), 120_000);

  /** The stick that is mounted at POINT, with what desktops and panels leave when it was prepared. */
  async function lookMounted(name: string, point: string): Promise<void> {
    const report = await prepareAt(point, 'in-os');
    run('sh', '-c', `cd '${point}' && ${leftByOthers.trim().replaceAll('\n', ' && ')}`);
    const verified = await verifyAt(point);
    const found = [...(report.sticks[0]?.findings ?? []), ...verified.findings];
    list(name, 'in-os', [report.verdict, verified.verdict], found);
    expect(verified.verdict, codes(found)).not.toBe('not-ready');
  }

  const itMounted = canMount ? needs(programsFor.exfat) : itWithout('the right to mount (run as root)');
  itMounted('mkfs.exfat, mounted', async () => {
    for (const megabytes of isLong ? [64, 512, 4096] : [64]) {
      const own = makeScratch();
      try {
        await lookMounted(`mkfs.exfat, mounted, ${megabytes} MB`, mountVolume(own, 'exfat', megabytes));
      } finally {
        own.undo();
      }
    }
  });

  if (corpora !== undefined)
    itMounted('corpora: go-exfat/test.exfat, mounted', async () => {
      const own = makeScratch();
      try {
        const [image, point] = [join(own.path, 'test.exfat'), join(own.path, 'mounted')];
        copyFileSync(join(corpora, 'volumes/go-exfat/test.exfat'), image);
        chmodSync(image, 0o600);
        mkdirSync(point);
        run('mount.exfat-fuse', attachLoop(own, image), point);
        own.later(() => unmount(point));
        await lookMounted('corpora: go-exfat/test.exfat, mounted', point);
      } finally {
        own.undo();
      }
    });

  // Written and unmounted by Linux's own vfat, with what desktops and panels leave, before it is prepared and again
  // after it.
  const kept = ['mkfs.fat -F16, 256 MB', 'mkfs.fat -F32, 64 MB', 'mformat -F, 128 MB', 'mformat, 64 MB'];
  if (!isLong) return;
  needs({ ...kernelPrograms, 'mkfs.fat': 'dosfstools', mformat: 'mtools' })(
    'after Linux has mounted it, and with what desktops and panels leave',
    async () => {
      const chosen = rows.filter(
        ({ name }) => kept.includes(name) || /^(sfdisk dos|stickwright format fat(16|32), 64)/.test(name),
      );
      const disks = chosen.slice(0, 16).map((_, at) => join(scratch.path, `${at}.img`));
      for (const [at, disk] of disks.entries()) await chosen[at]?.make(disk);
      const inEach = (commands: string): string =>
        `set -e\nmkdir /run/m\nfor disk in /dev/ubd[a-p]; do part=$disk; test -b "\${disk}1" && part="\${disk}1"
       mount -t vfat -o utf8=1 "$part" /run/m\ncd /run/m\n${commands}\ncd /\numount /run/m; done`;
      await runInKernel({
        disks,
        script: inEach(`echo notes > 'my notes.txt'; mkdir gone; rmdir gone; echo x > x; rm x\n${leftByOthers}`),
      });
      const prepared: Findings[] = [];
      for (const disk of disks) {
        const report = await prepareAt(disk, 'recovery');
        prepared.push(report.sticks[0]?.findings ?? []);
        expect(report.verdict, codes(report.sticks[0]?.findings ?? [])).not.toBe('not-ready');
      }
      await runInKernel({ disks, script: inEach(leftByOthers) });
      for (const [at, disk] of disks.entries()) {
        const verified = await verifyAt(disk);
        const found = [...(prepared[at] ?? []), ...verified.findings];
        list(`kernel, desktop, panel: ${chosen[at]?.name}`, 'recovery', ['', verified.verdict], found);
        expect(verified.verdict, `${chosen[at]?.name}: ${codes(found)}`).not.toBe('not-ready');
      }
    },
    600_000,
  );
});
