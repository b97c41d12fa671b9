import { spawnSync } from 'node:child_process';
import { copyFileSync, cpSync, mkdirSync, symlinkSync } from 'node:fs';
import { join, resolve } from 'node:path';
import { createInterface } from 'node:readline';
import { afterEach, beforeEach, describe, expect, it } from 'vitest';
import * as z from 'zod';
import { reportSchema } from '../../src/core/report/report-schema.ts';
import { createStickImage } from '../../src/io/format/image-files.ts';
import { startStickwright, stickwright } from '../fixtures/command.ts';
import { attachLoop, canMount } from '../fixtures/volumes/mounts.ts';
import { makeScratch, makeSparse, run, type Scratch } from '../fixtures/volumes/scratch.ts';
import { itWithout, missingPrograms, needs } from '../outside/needs.ts';

const missing = canMount
  ? missingPrograms({ lsblk: 'util-linux', losetup: 'mount' })
  : 'the right to attach loop devices (run as root)';
const itAttaches = missing === '' ? needs({}) : itWithout(missing);

/** A device of its own: another test that takes the next free one must not be mistaken for what is awaited here. */
const device = `/dev/loop${1000 + (process.pid % 1000)}`;
const bytes = 71_303_168;

let scratch: Scratch;
beforeEach(() => {
  scratch = makeScratch();
});
afterEach(() => scratch.undo());

async function attach(): Promise<void> {
  const image = `${scratch.path}/stick.img`;
  const at = new Date('2026-09-14T08:00:00Z');
  const shape = { fileSystem: 'fat32', partitioned: true, volumeLabel: 'PANEL', volumeSerial: 1, at } as const;
  await createStickImage(image, { bytes, ...shape });
  run('losetup', device, image);
  scratch.later(() => spawnSync('losetup', ['--detach', device], { stdio: 'ignore' }));
}

const drive = z.looseObject({
  device: z.string(),
  volumes: z.array(z.looseObject({ fileSystem: z.string() })),
  modes: z.array(z.looseObject({ mode: z.string(), answer: z.string() })),
});
const listing = reportSchema.extend({ drives: z.array(drive) });
const happening = reportSchema.extend({
  at: z.iso.datetime(),
  event: z.looseObject({ kind: z.string(), device: z.string(), before: drive.nullable(), after: drive.nullable() }),
});

describe('a drive that holds what is in use', () => {
  itAttaches(
    'is not erased: the tool that runs, its folder, the shelf, the families',
    { tags: ['only-the-stick'] },
    () => {
      const image = makeSparse(join(scratch.path, 'drive.img'), 64 * 2 ** 20);
      run('mkfs.ext4', '-q', image);
      const loop = attachLoop(scratch, image);
      const point = join(scratch.path, 'a stick');
      mkdirSync(point);
      run('mount', loop, point);
      scratch.later(() => spawnSync('umount', [point]));
      // The tool on the stick: its own script lies there, and what it needs is led to.
      mkdirSync(join(point, 'bin'));
      for (const file of ['stickwright.js', 'package.json']) copyFileSync(join('bin', file), join(point, 'bin', file));
      symlinkSync(resolve('dist'), join(point, 'dist'));
      cpSync('samples/families', join(point, 'families'), { recursive: true });
      const erase = (script: string, cwd: string, environment: Record<string, string>, ...words: readonly string[]) =>
        spawnSync(process.execPath, [script, 'format', loop, '--for', 'recovery', '--drive-size', '64MiB', ...words], {
          cwd,
          encoding: 'utf8',
          env: { ...process.env, NO_COLOR: '', STICKWRIGHT_FAMILIES: '', ...environment },
        });
      const here = resolve('bin/stickwright.js');
      const sedge = join(point, 'families/sedge.yaml');
      const tries: readonly (readonly [ReturnType<typeof erase>, string])[] = [
        [erase(join(point, 'bin/stickwright.js'), '/', {}), 'it holds this tool'],
        [erase(here, point, {}), 'it holds the folder you work in'],
        [erase(here, '/', { STICKWRIGHT_SHELF: join(point, 'shelf') }), 'it holds your shelf'],
        [erase(here, '/', { STICKWRIGHT_ROUND: join(point, 'a.round') }), 'it holds your round'],
        [erase(here, '/', { STICKWRIGHT_FAMILIES: join(point, 'families') }), 'it holds your panel families'],
        [erase(here, '/', {}, '--family', sedge), 'it holds what the command was given to read'],
        [erase(here, '/', { HOME: point }), 'it holds your home folder'],
      ];
      for (const [{ status, stderr }, reason] of tries) {
        expect([reason, status, stderr.replace(/\s+/g, ' ')]).toEqual([reason, 3, expect.stringContaining(reason)]);
      }
      expect(run('findmnt', '--noheadings', '--output', 'TARGET', '--source', loop).trim()).toBe(point);
      // As a folder it may be written: the next package onto the very stick that the tool runs from.
      const drives = listing.parse(JSON.parse(stickwright(['drives', '--all', '--json']).stdout)).drives;
      expect(drives.find((one) => one.device === loop)).toMatchObject({ holdsSystem: false, holds: [] });
    },
  );
});

describe('the list on the command line', () => {
  itAttaches('shows an attached image to the byte, as the kernel has it, and why it is refused', async () => {
    await attach();
    const { exitCode, stdout } = stickwright(['drives', '--all', '--json']);
    expect(exitCode).toBe(0);
    const found = listing.parse(JSON.parse(stdout)).drives.find((one) => one.device === device);
    expect(found?.bytes).toBe(Number(run('blockdev', '--getsize64', device)));
    expect(found).toMatchObject({
      bytes,
      maker: null,
      serial: null,
      port: null,
      usb: false,
      partitionTable: 'mbr',
      refusedBecause: 'it is a file shown as a drive, not a USB drive',
      volumes: [{ fileSystem: 'fat32', label: 'PANEL', sectorBytes: 512, readOnly: false, mountPoints: [] }],
      modes: [
        { mode: 'in-os', answer: 'no', family: null, reason: { code: 'drive/refused' } },
        { mode: 'recovery', answer: 'no', family: null, reason: { code: 'drive/refused' } },
      ],
    });
    const text = stickwright(['drives', '--all']).stdout;
    expect(text).toContain(`${device}  maker and model unknown`);
    expect(text).toContain('never written: it is a file shown as a drive, not a USB drive');
    const sticks = listing.parse(JSON.parse(stickwright(['drives', '--json']).stdout)).drives;
    expect(sticks.filter((one) => one.device === device)).toEqual([]);
  });

  it('wants families that can be read', () => {
    expect(stickwright(['drives', '--family', 'no/such/family.yaml']).exitCode).toBe(3);
    expect(stickwright(['drives', '--all', '--family', 'samples/families', '--json']).exitCode).toBe(0);
  });
});

/** The lines that a watch prints, as they come. */
function startWatch(words: readonly string[]) {
  const child = startStickwright(['drives', '--all', '--watch', ...words]);
  scratch.later(() => child.kill('SIGKILL'));
  const ended = new Promise<number | null>((resolve) => child.on('close', (code) => resolve(code)));
  const lines = createInterface({ input: child.stdout })[Symbol.asyncIterator]();
  const next = async (): Promise<string> => {
    const { value, done } = await lines.next();
    if (done) throw new Error('the watch ended early');
    return value;
  };
  return { child, ended, next };
}

describe('the watch on the command line', () => {
  itAttaches('tells of an image that is attached and detached, one document a line, and ends on Ctrl-C', async () => {
    const { child, ended, next } = startWatch(['--json']);
    const first = listing.parse(JSON.parse(await next()));
    expect(first.drives.filter((one) => one.device === device)).toEqual([]);
    const awaitEvent = async (kind: string) => {
      for (;;) {
        const { event } = happening.parse(JSON.parse(await next()));
        if (event.kind === kind && event.device === device) return event;
      }
    };
    await attach();
    const came = await awaitEvent('came');
    expect(came.before).toBeNull();
    expect(came.after).toMatchObject({ bytes, partitionTable: 'mbr', volumes: [{ fileSystem: 'fat32' }] });
    run('losetup', '--detach', device);
    const went = await awaitEvent('went');
    expect(went.before).toMatchObject({ bytes });
    expect(went.after).toBeNull();
    child.kill('SIGINT');
    expect(await ended).toBe(130);
  });

  itAttaches('tells it in words, with the time, and without a terminal', async () => {
    const { child, ended, next } = startWatch([]);
    await next();
    await attach();
    let line = '';
    while (!line.includes(device)) line = await next();
    expect(line).toMatch(/^\d\d:\d\d:\d\d {2}came {5}\/dev\/loop\d+ {2}maker and model unknown, 71\.3 MB, .*FAT32/);
    expect(line).not.toMatch(/[\u001b\r]/);
    child.kill('SIGTERM');
    expect(await ended).toBe(143);
  });

  itAttaches('ends when nobody reads it any more', async () => {
    const { child, ended, next } = startWatch(['--json']);
    await next();
    child.stdout.destroy();
    await attach();
    expect(await ended).toBe(0);
  });
});
