import { spawnSync } from 'node:child_process';
import { existsSync, mkdtempSync, readFileSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, beforeAll, describe, expect, vi } from 'vitest';
import { stickwright } from '../fixtures/command.ts';
import { makeArchive, panelLabel, sha256 } from '../fixtures/desk.ts';
import { standIns } from '../fixtures/stand-ins.ts';
import { attachLoop, canMount, mountVolume, programsFor } from '../fixtures/volumes/mounts.ts';
import { makeFatImage, makeScratch, run, type Scratch } from '../fixtures/volumes/scratch.ts';
import { itWithout, needs } from '../outside/needs.ts';

vi.setConfig({ testTimeout: 240_000 });

const attaching = canMount
  ? needs({ ...programsFor.exfat, unshare: 'util-linux' })
  : itWithout('the right to attach loop devices (run as root)');
const fat32 = { kind: 'fat32', clusterBytes: 512, partitioned: true } as const;

let folder: string;
let archive: string;
let scratch: Scratch;
beforeAll(async () => {
  scratch = makeScratch();
  folder = mkdtempSync(join(tmpdir(), 'stickwright listing-'));
  archive = await makeArchive(folder);
});
afterAll(() => {
  scratch.undo();
  rmSync(folder, { recursive: true, force: true });
});

/**
 * An lsblk that answers from the kernel the first time and then no more, or only in part: as one that waits for a drive
 * that hangs, or that asks before udev has said what the drive is. COUNT hears how often it was asked.
 */
const forgetful = (count: string, later: string): string => `
echo asked >> '${count}'
[ "$(wc -l < '${count}')" -gt 1 ] && { ${later}; }
exec '${real()}' "$@"`;

/** The stand-in hides the real one in the system's folder, so it is kept beside. */
function real(): string {
  const path = join(folder, 'lsblk.real');
  if (!existsSync(path)) run('cp', '/usr/bin/lsblk', path);
  return path;
}

/** What the command says where lsblk is SCRIPT. */
function stickwrightWith(script: string, words: readonly string[]) {
  const system = standIns({ lsblk: script });
  try {
    const [program, ...all] = system.around([process.execPath, 'bin/stickwright.js', ...words]);
    return spawnSync(program, all, {
      encoding: 'utf8',
      env: { ...process.env, STICKWRIGHT_FAMILIES: 'samples/families', NO_COLOR: '1' },
    });
  } finally {
    system.undo();
  }
}

const prepareWords = (...sticks: readonly string[]): readonly string[] => [
  ...['prepare', archive, '--mode', 'recovery', '--label', panelLabel],
  ...sticks.flatMap((stick) => ['--stick', stick]),
];

describe('a list of drives that fails at the second look', () => {
  const cases = [
    { name: 'with an error', later: 'echo "lsblk: failed" >&2; exit 1' },
    { name: 'with half an answer', later: 'echo "{\\"blockdevices\\": [{\\"name\\""; exit 0' },
    { name: 'by being killed', later: 'kill -9 $$' },
    { name: 'by not answering', later: 'exec sleep 100' },
    { name: 'with no drive', later: 'echo "{\\"blockdevices\\": []}"; exit 0' },
  ];
  for (const [at, { name, later }] of cases.entries()) {
    attaching(
      `${name} is not another stick: the stick is finished`,
      { tags: ['nobody-else', 'work-goes-on'] },
      async () => {
        const image = await makeFatImage(join(folder, `${at}.img`), 80 * 2 ** 20, fat32);
        const device = attachLoop(scratch, image);
        const count = join(folder, `${at}.count`);
        const done = stickwrightWith(forgetful(count, later), [...prepareWords(device), '--yes']);
        expect(readFileSync(count, 'utf8').split('\n').length).toBeGreaterThan(2);
        expect(done.stdout).not.toContain('stick/swapped');
        expect([0, 4]).toContain(done.status);
        expect([0, 4]).toContain(stickwright(['verify', device]).exitCode);
      },
    );
  }
});

describe('a list of drives that fails at the first look', () => {
  const cases = [
    { name: 'with an error', script: 'echo "lsblk: no such thing" >&2; exit 1', said: 'lsblk: no such thing' },
    { name: 'by not answering', script: 'exec sleep 100', said: 'lsblk did not answer within 20 s' },
    { name: 'with half an answer', script: 'echo "{\\"blockdevices\\": ["', said: 'the list breaks off' },
  ];
  for (const [at, { name, script, said }] of cases.entries())
    attaching(`${name} is said as that, of a raw drive and of a mounted stick`, { tags: ['nobody-else'] }, async () => {
      const image = await makeFatImage(join(folder, `first ${at}.img`), 80 * 2 ** 20, fat32);
      const before = sha256(readFileSync(image));
      const device = attachLoop(scratch, image);
      const plain = (text: string): string => text.replaceAll(/\s+/g, ' ');
      const dry = stickwrightWith(script, [...prepareWords(device), '--dry-run']);
      expect(plain(dry.stdout)).toContain('stick/drives-not-listed]');
      expect(plain(dry.stdout)).toContain(said);
      expect(dry.stdout).not.toMatch(/stick\/(not-a-removable-drive|swapped)/);
      expect(dry.status).toBe(1);
      if (at > 0) return; // each look that waits takes 20 s
      const real = stickwrightWith(script, [...prepareWords(device), '--yes']);
      expect(plain(real.stdout + real.stderr)).toContain(said);
      expect(real.stdout + real.stderr).toContain('drives/unavailable');
      expect(real.status).toBe(3);
      expect(sha256(readFileSync(image))).toBe(before);

      const own = makeScratch();
      try {
        const point = mountVolume(own, 'exfat', 64);
        const mounted = stickwrightWith(script, [...prepareWords(point), '--dry-run', '--yes']);
        expect(plain(mounted.stdout)).toContain('stick/drives-not-listed-agreed]');
        expect(plain(mounted.stdout)).toContain(said);
      } finally {
        own.undo();
      }
    });
});

// Several sticks are opened together, and each look may take long.
describe('a list of drives that is slow', () => {
  attaching('is never asked for twice at a time, and shared by the sticks that wait for it', async () => {
    const devices: string[] = [];
    for (let at = 0; at < 4; at++)
      devices.push(attachLoop(scratch, await makeFatImage(join(folder, `slow ${at}.img`), 80 * 2 ** 20, fat32)));
    const log = join(folder, 'slow.log');
    const script = `echo begins >> '${log}'; '${real()}' "$@"; sleep 1; echo ends >> '${log}'`;
    const done = stickwrightWith(script, [...prepareWords(...devices), '--yes']);
    expect([0, 4], done.stdout).toContain(done.status);
    const lines = readFileSync(log, 'utf8').trim().split('\n');
    expect(lines).toEqual(lines.map((_, at) => (at % 2 === 0 ? 'begins' : 'ends')));
    // Each stick is looked at twice: when it is planned, and before it is written.
    expect(lines.length / 2).toBeLessThan(devices.length * 2);
    for (const device of devices) expect([0, 4]).toContain(stickwright(['verify', device]).exitCode);
  });
});
