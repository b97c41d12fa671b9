import { spawnSync } from 'node:child_process';
import { mkdtempSync, readFileSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, beforeAll, describe, expect, vi } from 'vitest';
import { stickwright } from '../fixtures/command.ts';
import { makeArchive, panelLabel } from '../fixtures/desk.ts';
import { standIns } from '../fixtures/stand-ins.ts';
import { attachLoop, canMount } from '../fixtures/volumes/mounts.ts';
import { makeFatImage, makeScratch, run, type Scratch } from '../fixtures/volumes/scratch.ts';
import { itWithout, needs } from '../outside/needs.ts';

vi.setConfig({ testTimeout: 240_000 });

const attaching = canMount
  ? needs({ losetup: 'mount', unshare: 'util-linux' })
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
exec "$LSBLK" "$@"`;

describe('a list of drives that fails at the second look', () => {
  const cases = [
    { name: 'with an error', later: 'echo "lsblk: failed" >&2; exit 1' },
    { name: 'with half an answer', later: 'echo "{\\"blockdevices\\": [{\\"name\\""; exit 0' },
    { name: 'by being killed', later: 'kill -9 $$' },
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
        // The stand-in hides the real one in the system's folder, so it is kept beside.
        const real = join(folder, 'lsblk.real');
        run('cp', '/usr/bin/lsblk', real);
        const system = standIns({ lsblk: forgetful(count, later).replace('"$LSBLK"', `'${real}'`) });
        try {
          const [program, ...words] = system.around([
            ...[process.execPath, 'bin/stickwright.js', 'prepare', archive, '--mode', 'recovery'],
            ...['--label', panelLabel, '--stick', device, '--yes'],
          ]);
          const done = spawnSync(program, words, {
            encoding: 'utf8',
            env: { ...process.env, STICKWRIGHT_FAMILIES: 'samples/families', NO_COLOR: '1' },
          });
          expect(readFileSync(count, 'utf8').split('\n').length).toBeGreaterThan(2);
          expect(done.stdout).not.toContain('stick/swapped');
          expect([0, 4]).toContain(done.status);
          expect([0, 4]).toContain(stickwright(['verify', device]).exitCode);
        } finally {
          system.undo();
        }
      },
    );
  }
});
