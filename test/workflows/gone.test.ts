import { spawnSync } from 'node:child_process';
import { mkdirSync, mkdtempSync, readdirSync, rmSync, truncateSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { findMedium } from '../../src/io/format/find-medium.ts';
import { proveFreeSpace } from '../../src/io/prove/prove-free-space.ts';
import { proveMedium } from '../../src/io/prove/prove-medium.ts';
import { openVolume } from '../../src/io/volume/open-volume.ts';
import type { OpenVolume, Volume } from '../../src/io/volume/volume.ts';
import type { Ports } from '../../src/workflows/ports.ts';
import { verifyStick } from '../../src/workflows/verify-stick.ts';
import { smallTree } from '../fixtures/cut-scenarios.ts';
import { makeArchive, prepare, testPorts } from '../fixtures/desk.ts';
import { comeBack, returnedPorts } from '../fixtures/returned.ts';
import { attachLoop, canMount, mountVolume, programsFor, unmount } from '../fixtures/volumes/mounts.ts';
import { makeFatImage, makeScratch, makeSparse, run, type Scratch } from '../fixtures/volumes/scratch.ts';
import { itWithout, needs } from '../outside/needs.ts';

const mounting = (programs: Readonly<Record<string, string>>) =>
  canMount ? needs(programs) : itWithout('the right to mount (run as root)');

let folder: string;
let archivePath: string;
let scratch: Scratch;

beforeAll(async () => {
  scratch = makeScratch();
  folder = mkdtempSync(join(tmpdir(), 'stickwright gone-'));
  archivePath = await makeArchive(folder, smallTree);
});
afterAll(() => {
  scratch.undo();
  rmSync(folder, { recursive: true, force: true });
});

const fat32 = { kind: 'fat32', clusterBytes: 512, partitioned: true } as const;
const newImage = (name: string): Promise<string> => makeFatImage(join(folder, name), 36 * 2 ** 20, fat32);
const accepted = new Map(
  ['file-system-not-taken', 'partition-table-not-taken', 'larger-than-the-panel-takes'].map((code) => [
    `stick/${code}`,
    'a mount in a test',
  ]),
);

/** Opens TARGET so that ACT comes before the volume, the TIME-th time it is opened. */
function actBefore(target: string, time: number, act: () => void): OpenVolume {
  let times = 0;
  return async (opened, access, options) => {
    if (opened === target && ++times === time) act();
    return openVolume(opened, access, options);
  };
}

/**
 * A stick of which one step throws ERROR. No real part makes libuv say UNKNOWN on Linux, and none makes this program
 * err, so the step is replaced; all the rest is a real image.
 */
const failingAt =
  (target: string, step: keyof Volume, error: Error): OpenVolume =>
  async (opened, access, options) => {
    const volume = await openVolume(opened, access, options);
    if (opened !== target || access === 'read') return volume;
    return {
      ...volume,
      [step]: async () => {
        throw error;
      },
    };
  };

describe('what nobody foresaw on one of several sticks', () => {
  const unknown = Object.assign(new Error('UNKNOWN: unknown error, write'), { code: 'UNKNOWN', errno: -4094 });
  const strange = Object.assign(new Error('Unknown system error -4711'), { code: 'Unknown system error -4711' });
  const steps = ['entries', 'makeFolder', 'create', 'rename', 'flush', 'removeFolder', 'close'] as const;
  const cases = steps.flatMap((step) => [
    { step, name: 'UNKNOWN', error: unknown, code: 'system/failed' },
    { step, name: 'a number without a name', error: strange, code: 'system/failed' },
    { step, name: 'a bug', error: new TypeError('not a function'), code: 'bug' },
  ]);
  for (const [at, { step, name, error, code }] of cases.entries()) {
    it(`does not end the others: ${name} out of ${step}`, { tags: ['work-goes-on'] }, async () => {
      const [good, bad] = [await newImage(`good ${at}.img`), await newImage(`bad ${at}.img`)];
      const ports: Ports = { ...testPorts, openVolume: failingAt(bad, step, error) };
      const { report } = await prepare({ archivePath, mode: 'recovery', targets: [bad, good] }, ports);
      expect(report.sticks[1]).toMatchObject({ state: 'written', error: undefined });
      expect(report.sticks[1]?.verdict).not.toBe('not-ready');
      expect(report.sticks[0]).toMatchObject({ verdict: 'not-ready', error: { code, subject: bad } });
      expect(report.verdict).toBe('not-ready');
      for (const image of [good, bad]) rmSync(image);
    });
  }
});

describe('a mounted stick that vanishes', () => {
  mounting(programsFor.tmpfs)(
    'between the plan and the first write is gone, and not another stick; the other is finished',
    { tags: ['nobody-else', 'work-goes-on'] },
    async () => {
      const point = mountVolume(scratch, 'tmpfs', 8);
      const image = await newImage('the other.img');
      const ports: Ports = { ...testPorts, openVolume: actBefore(point, 2, () => unmount(point)) };
      const { report } = await prepare({ archivePath, mode: 'recovery', targets: [point, image], accepted }, ports);
      expect(report.sticks[0]).toMatchObject({ state: 'failed', error: { code: 'stick/gone' } });
      expect(report.sticks[1]?.state).toBe('written');
      expect(readdirSync(point)).toEqual([]);
      rmSync(point, { recursive: true });
    },
  );

  mounting(programsFor.tmpfs)(
    'between two looks at what came back is gone, and not one that was never prepared',
    { tags: ['nobody-else'] },
    async () => {
      for (const wish of [{}, { clear: true }, { clear: true, keepLeft: join(folder, 'kept') }]) {
        for (const time of [1, 2, 3, 4, 5]) {
          const point = mountVolume(scratch, 'tmpfs', 8);
          await prepare({ archivePath, mode: 'recovery', targets: [point], accepted });
          writeFileSync(join(point, 'last_log'), 'E: error 7\n');
          let vanished = false;
          const open = actBefore(point, time, () => {
            vanished = true;
            unmount(point);
          });
          const answer = comeBack({ target: point, ...wish }, { ...returnedPorts, openVolume: open });
          const said = await answer.then(
            ({ findings }) => findings.map(({ code }) => code).join(),
            (error: unknown) => (error instanceof Error && 'code' in error ? String(error.code) : String(error)),
          );
          // Before the first look there is only an empty folder; after the last one the answer is true.
          if (vanished && time > 1) expect([wish, time, said]).toEqual([wish, time, 'stick/gone']);
          unmount(point);
          expect(readdirSync(point)).toEqual([]);
          rmSync(point, { recursive: true });
        }
      }
    },
  );

  mounting(programsFor.tmpfs)('while it is verified is gone, and not worn', { tags: ['nobody-else'] }, async () => {
    const point = mountVolume(scratch, 'tmpfs', 8);
    await prepare({ archivePath, mode: 'recovery', targets: [point], accepted });
    const verifying = verifyStick({ target: point, label: undefined, quick: false, replugged: true }, testPorts, {
      tell: ({ kind }) => {
        if (kind === 'stage') unmount(point);
      },
      signal: new AbortController().signal,
    });
    await expect(verifying).rejects.toMatchObject({ code: 'stick/gone' });
    rmSync(point, { recursive: true });
  });
});

describe('a raw stick that vanishes', () => {
  const takeMediumOut = (image: string, device: string): void => {
    truncateSync(image, 0);
    run('losetup', '--set-capacity', device);
  };

  mounting({ losetup: 'mount' })(
    'while its plan is made is gone, and the other is finished',
    { tags: ['work-goes-on'] },
    async () => {
      const [image, other] = [await newImage('vanishing.img'), await newImage('staying.img')];
      const device = attachLoop(scratch, image);
      const ports: Ports = {
        ...testPorts,
        auditMedium: (target, asked) => {
          if (target === device) takeMediumOut(image, device);
          return testPorts.auditMedium(target, asked);
        },
      };
      const { report } = await prepare({ archivePath, mode: 'recovery', targets: [device, other] }, ports);
      expect(report.sticks[0]).toMatchObject({ state: 'failed', error: { code: 'stick/gone' } });
      expect(report.sticks[1]?.state).toBe('written');
    },
  );

  mounting({ losetup: 'mount' })('before it is begun, or verified, is gone', { tags: ['work-goes-on'] }, async () => {
    const image = await newImage('ejected.img');
    const device = attachLoop(scratch, image);
    const ports: Ports = { ...testPorts, openVolume: actBefore(device, 2, () => takeMediumOut(image, device)) };
    const { report } = await prepare({ archivePath, mode: 'recovery', targets: [device] }, ports);
    expect(report.sticks[0]).toMatchObject({ error: { code: 'stick/gone' } });
    await expect(comeBack({ target: device })).rejects.toMatchObject({ code: 'stick/gone' });
  });
});

describe('a stick that is pulled while it is mounted', () => {
  /** The mount stays, as it does when a stick is pulled, and its driver answers with errors. */
  const pulled = async (): Promise<{ readonly point: string; readonly pull: () => void }> => {
    const own = makeScratch();
    scratch.later(() => own.undo());
    const image = makeSparse(join(own.path, 'exfat.img'), 48 * 2 ** 20);
    run('mkfs.exfat', image);
    const device = attachLoop(own, image);
    const point = join(own.path, 'mounted');
    mkdirSync(point);
    run('mount.exfat-fuse', device, point);
    own.later(() => unmount(point));
    const pull = (): void => {
      truncateSync(image, 0);
      run('losetup', '--set-capacity', device);
    };
    return { point, pull };
  };

  mounting(programsFor.exfat)(
    'is gone, and neither worn nor full: in prepare, and when it comes back',
    { tags: ['nobody-else', 'work-goes-on'] },
    async () => {
      const { point, pull } = await pulled();
      const image = await newImage('beside a pulled one.img');
      const ports: Ports = { ...testPorts, openVolume: actBefore(point, 2, pull) };
      const { report } = await prepare({ archivePath, mode: 'recovery', targets: [point, image], accepted }, ports);
      expect(report.sticks[0]).toMatchObject({ verdict: 'not-ready', error: { code: 'stick/gone' } });
      expect(report.sticks[1]?.state).toBe('written');
      await expect(comeBack({ target: point })).rejects.toMatchObject({ code: 'stick/gone' });
    },
  );

  mounting(programsFor.fat32)('or whose driver is killed, is gone', { tags: ['nobody-else'] }, async () => {
    const point = mountVolume(scratch, 'fat32', 40);
    await prepare({ archivePath, mode: 'recovery', targets: [point], accepted });
    const verifying = verifyStick(
      { target: point, label: undefined, mode: undefined, quick: false, replugged: true },
      testPorts,
      {
        tell: ({ kind }) => {
          if (kind === 'stage') spawnSync('pkill', ['--exact', '--full', '--signal', 'KILL', `fusefat .* ${point}`]);
        },
        signal: new AbortController().signal,
      },
    );
    await expect(verifying).rejects.toMatchObject({ code: 'stick/gone' });
    await expect(comeBack({ target: point })).rejects.toMatchObject({ code: 'stick/gone' });
  });
});

describe('a folder that an ejected stick left', () => {
  const mayMake = process.platform === 'linux' && process.getuid?.() === 0;
  it.skipIf(!mayMake)(
    'is a stick that is gone, and nothing is prepared there',
    { tags: ['only-the-stick'] },
    async () => {
      const point = mkdtempSync('/mnt/stickwright test-');
      try {
        await expect(comeBack({ target: point })).rejects.toMatchObject({ code: 'stick/gone' });
        const { report } = await prepare({ archivePath, mode: 'recovery', targets: [point], accepted });
        expect(report.sticks[0]).toMatchObject({ state: 'failed', error: { code: 'stick/gone' } });
        expect(readdirSync(point)).toEqual([]);
        // One with something in it is somebody's folder.
        writeFileSync(join(point, 'mine.txt'), 'x');
        expect((await comeBack({ target: point })).findings.map(({ code }) => code)).toContain('verify/not-prepared');
      } finally {
        rmSync(point, { recursive: true });
      }
    },
  );

  mounting(programsFor.tmpfs)('is a stick again when one is mounted there', async () => {
    const point = mkdtempSync('/mnt/stickwright test-');
    run('mount', '-t', 'tmpfs', '-o', 'size=1m', 'stick', point);
    try {
      expect((await comeBack({ target: point })).findings.map(({ code }) => code)).toContain('verify/not-prepared');
    } finally {
      unmount(point);
      rmSync(point, { recursive: true });
    }
  });
});

describe('a proof', () => {
  const running = { signal: new AbortController().signal, heard: () => {} };

  mounting({ losetup: 'mount' })(
    'of a stick that vanishes is gone, and not worn',
    { tags: ['nobody-else'] },
    async () => {
      const image = await newImage('proven.img');
      const device = attachLoop(scratch, image);
      const place = await findMedium(device, { mayBeNew: false });
      let taken = false;
      const heard = (): void => {
        if (taken) return;
        taken = true;
        truncateSync(image, 0);
        run('losetup', '--set-capacity', device);
      };
      await expect(proveMedium(place, 'whole', { ...running, heard })).rejects.toMatchObject({ code: 'stick/gone' });
    },
  );

  mounting(programsFor.tmpfs)(
    'of free space leaves nothing on the computer',
    { tags: ['only-the-stick'] },
    async () => {
      const point = mountVolume(scratch, 'tmpfs', 8);
      const volume = await openVolume(point, 'write');
      const proving = proveFreeSpace(volume, { ...running, seed: '0011223344556677', heard: () => unmount(point) });
      await expect(proving).rejects.toMatchObject({ code: 'stick/gone' });
      await volume.close().catch(() => {});
      expect(readdirSync(point)).toEqual([]);
      rmSync(point, { recursive: true });
    },
  );
});

it('a folder is not a mount that is gone because its drive is not told', async () => {
  const target = join(folder, 'plain');
  mkdirSync(target);
  const { report } = await prepare({ archivePath, mode: 'recovery', targets: [target], accepted });
  expect(report.sticks[0]?.state).toBe('written');
});
