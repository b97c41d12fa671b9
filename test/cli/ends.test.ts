import { spawn, spawnSync } from 'node:child_process';
import { closeSync, existsSync, mkdirSync, mkdtempSync, openSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, beforeAll, describe, expect, it, vi } from 'vitest';
import { startStickwright, stickwright } from '../fixtures/command.ts';
import { firmwareTree, makeArchive, panelLabel, sha256 } from '../fixtures/desk.ts';
import { standIns } from '../fixtures/stand-ins.ts';
import { talk } from '../fixtures/talk.ts';
import { attachLoop, canMount, mountVolume, programsFor } from '../fixtures/volumes/mounts.ts';
import { makeFatImage, makeScratch, run, type Scratch } from '../fixtures/volumes/scratch.ts';
import { itWithout, needs } from '../outside/needs.ts';

vi.setConfig({ testTimeout: 240_000 });

let folder: string;
let archive: string;
let scratch: Scratch;
const fat32 = { kind: 'fat32', clusterBytes: 512, partitioned: true } as const;

beforeAll(async () => {
  scratch = makeScratch();
  folder = mkdtempSync(join(tmpdir(), 'stickwright ends-'));
  const tree = { ...firmwareTree, 'images/system.img': Buffer.alloc(24_000_000, 2) };
  archive = await makeArchive(folder, tree);
});
afterAll(() => {
  scratch.undo();
  rmSync(folder, { recursive: true, force: true });
});

let images = 0;
const newImage = (): Promise<string> => makeFatImage(join(folder, `${++images}.img`), 80 * 2 ** 20, fat32);
const words = (target: string, ...more: readonly string[]): readonly string[] => [
  ...[
    'prepare',
    archive,
    '--mode',
    'recovery',
    '--label',
    panelLabel,
    '--running',
    'reed.746',
    '--stick',
    target,
    ...more,
  ],
];
const stops = ['file-system-not-taken', 'partition-table-not-taken', 'larger-than-the-panel-takes'];
const accepted = stops.flatMap((code) => ['--accept', `stick/${code}`, '--because', 'a folder in a test']);
const isPrepared = (target: string): boolean => [0, 4].includes(stickwright(['verify', target]).exitCode ?? 1);
const mounting = canMount ? needs({ losetup: 'mount' }) : itWithout('the right to mount (run as root)');

describe('output that cannot be written', () => {
  /** Everything written to this device fails: there is no room (full(4)). */
  const withFull = (which: readonly ('stdout' | 'stderr')[], command: readonly string[]): number | null => {
    const full = openSync('/dev/full', 'w');
    const to = (stream: 'stdout' | 'stderr') => (which.includes(stream) ? full : ('ignore' as const));
    const done = spawnSync(process.execPath, ['bin/stickwright.js', ...command], {
      stdio: ['ignore', to('stdout'), to('stderr')],
      env: { ...process.env, STICKWRIGHT_FAMILIES: 'samples/families' },
    });
    closeSync(full);
    return done.status;
  };

  const fulls = [['stdout'], ['stderr'], ['stdout', 'stderr']] as const;
  it.skipIf(process.platform !== 'linux').each(fulls.map((which) => ({ which, name: which.join(' and ') })))(
    'is no answer, and keeps nothing from being done: $name',
    { tags: ['work-goes-on'] },
    async ({ which }) => {
      const target = await newImage();
      expect(withFull(which, words(target, '--yes'))).toBe(3);
      expect(isPrepared(target)).toBe(true);
      if (!which.some((one) => one === 'stdout')) return; // what follows says nothing on stderr
      expect(withFull(which, words(target, '--yes', '--json'))).toBe(3);
      expect(withFull(which, ['verify', target])).toBe(3);
      const empty = await newImage();
      expect(withFull(which, ['verify', empty])).toBe(3);
      expect(withFull(which, ['--help'])).toBe(3);
    },
  );

  it.skipIf(process.platform !== 'linux')('does not hide that the words were wrong', () => {
    expect(withFull(['stdout', 'stderr'], ['prepare', '--nonsense'])).toBe(2);
  });

  needs({ python3: 'python3' })(
    'asks nobody about what nobody could see',
    { tags: ['plan-before-touch'] },
    async () => {
      const target = await newImage();
      const before = sha256(readFileSync(target));
      const { code, seen } = talk(words(target), [], { stdout: '/dev/full' });
      expect(code).toBe(3);
      expect(seen).toContain('ENOSPC');
      expect(sha256(readFileSync(target))).toBe(before);
    },
  );
});

it('needs no TMPDIR', async () => {
  const target = await newImage();
  const { exitCode } = stickwright(words(target, '--yes'), { TMPDIR: join(folder, 'no such folder') });
  expect([0, 4]).toContain(exitCode);
  expect(isPrepared(target)).toBe(true);
});

describe('a question that is not answered', () => {
  const atPrepare = async (answer: string): Promise<readonly [number, boolean]> => {
    const target = await newImage();
    const before = sha256(readFileSync(target));
    const { code } = talk(words(target), [['Write as shown', answer]]);
    return [code, sha256(readFileSync(target)) === before];
  };

  for (const [answer, name, code] of [
    ['\u0003', 'Ctrl-C', 130],
    ['SIGINT', 'a signal like it', 130],
    ['SIGTERM', 'a polite kill', 143],
    ['n\r', 'no', 1],
  ] as const)
    needs({ python3: 'python3' })(
      `before a stick is written ends with ${code} at ${name}, and nothing is written`,
      { tags: ['plan-before-touch'] },
      async () => {
        expect(await atPrepare(answer)).toEqual([code, true]);
      },
    );

  needs({ python3: 'python3' })('before a stick is cleared or erased ends with 130 at Ctrl-C', async () => {
    const target = await newImage();
    stickwright(words(target, '--yes'));
    const before = sha256(readFileSync(target));
    const clearing = talk(['verify', target, '--returned', '--clear'], [['as shown?', '\u0003']]);
    const erasing = talk(['format', target, '--for', 'recovery'], [['Erase', '\u0003']]);
    expect([clearing.code, erasing.code]).toEqual([130, 130]);
    expect(sha256(readFileSync(target))).toBe(before);
  });
});

describe('a polite kill', () => {
  /** Two loops that want the processors as well, and end by themselves. */
  const load = () =>
    [1, 2].map(() =>
      spawn(process.execPath, ['-e', 'const end = Date.now() + 60_000; while (Date.now() < end);'], {
        stdio: 'ignore',
      }),
    );

  it('ends with 143 wherever it comes, also under load; the same command then finishes the stick', {
    tags: ['work-goes-on'],
  }, async () => {
    const busy = load();
    try {
      for (const signals of [1, 2]) {
        const target = join(folder, `folder ${++images}`);
        mkdirSync(target);
        const command = words(target, '--yes', ...accepted);
        const child = startStickwright(command);
        const ended = new Promise((resolve) => child.on('close', (code, signal) => resolve(code ?? signal)));
        let said = '';
        child.stderr.on('data', (chunk) => {
          const before = said;
          said += String(chunk);
          if (signals === 2 && said.includes('Stopping') && !before.includes('Stopping')) child.kill('SIGTERM');
        });
        child.stdout.resume();
        while (!existsSync(join(target, 'SW-PART.TMP')) && child.exitCode === null)
          await new Promise((resolve) => setTimeout(resolve, 2));
        child.kill('SIGTERM');
        expect(await ended).toBe(143);
        expect([0, 4]).toContain(stickwright(command).exitCode);
        rmSync(target, { recursive: true });
      }
    } finally {
      for (const child of busy) child.kill();
    }
  });
});

describe('a command that has no clean place to stop', () => {
  const families = { ...process.env, STICKWRIGHT_FAMILIES: 'samples/families' };

  /** Reads labels from a pipe that nobody closes; resolves when it has begun to. */
  async function reading(...more: readonly string[]) {
    const child = spawn(process.execPath, ['bin/stickwright.js', 'label', '--list', '-', ...more], { env: families });
    let stdout = '';
    let stderr = '';
    child.stdout.on('data', (chunk) => {
      stdout += String(chunk);
    });
    child.stderr.on('data', (chunk) => {
      stderr += String(chunk);
    });
    const ended = new Promise((resolve) => child.on('close', (code, signal) => resolve(code ?? signal)));
    // Far more than a pipe holds: when all of it is taken, the command waits for the rest.
    await new Promise((resolve) => child.stdin.write(Buffer.alloc(2 ** 22, 'K2-second 75/5B\n'), resolve));
    child.stdin.on('error', () => {});
    return { child, ended, said: () => ({ stdout, stderr }) };
  }

  for (const [signal, code] of [
    ['SIGINT', 130],
    ['SIGTERM', 143],
  ] as const)
    it.skipIf(process.platform === 'win32')(
      `is cut off by ${signal}, says so in words or as one document, and ends with ${code} at once`,
      { tags: ['work-goes-on'] },
      async () => {
        for (const more of [[], ['--json']]) {
          const { child, ended, said } = await reading(...more);
          child.kill(signal);
          expect(await ended).toBe(code);
          const { stdout, stderr } = said();
          if (more.length === 0) expect(stderr).toContain('No answer [interrupted]');
          else expect(JSON.parse(stdout)).toMatchObject({ exitCode: code, error: { code: 'interrupted' } });
        }
      },
    );
});

describe('--eject', () => {
  /** What lsblk says of the loop devices, told of sticks: a removable drive on the USB bus is what no test has. */
  const asSticks = (devices: readonly string[]): string => {
    const listed = JSON.parse(run('lsblk', '--json', '--bytes', '--output-all', ...devices)) as {
      blockdevices: Record<string, unknown>[];
    };
    for (const device of listed.blockdevices)
      Object.assign(device, { tran: 'usb', rm: true, type: 'disk', hotplug: true });
    const path = join(folder, 'lsblk.json');
    writeFileSync(path, JSON.stringify(listed));
    return `cat '${path}'`;
  };

  mounting(
    'of all sticks lets go of every one, and says so of each',
    { tags: ['ready-is-on-the-medium'] },
    async () => {
      const devices = await Promise.all([1, 2].map(async () => attachLoop(scratch, await newImage())));
      const system = standIns({ lsblk: asSticks(devices), eject: 'exit 0', udisksctl: 'exit 1' });
      try {
        const [program, ...rest] = system.around([
          ...[process.execPath, 'bin/stickwright.js'],
          ...words('all', '--yes', '--eject'),
        ]);
        const done = spawnSync(program, rest, {
          encoding: 'utf8',
          env: { ...process.env, STICKWRIGHT_FAMILIES: 'samples/families', NO_COLOR: '1' },
        });
        expect([0, 4]).toContain(done.status);
        for (const device of devices) expect(done.stderr).toContain(`You can pull ${device} now.`);
      } finally {
        system.undo();
      }
    },
  );

  needs(programsFor.tmpfs)('says of what is no stick that there is nothing to eject', async () => {
    const image = await newImage();
    const point = canMount ? mountVolume(scratch, 'tmpfs', 60) : undefined;
    const sticks = [image, ...(point === undefined ? [] : [point])];
    const { stderr } = stickwright([
      ...words(image, '--yes', '--eject', ...accepted),
      ...sticks.slice(1).flatMap((one) => ['--stick', one]),
    ]);
    expect(stderr).toContain(`Nothing to eject at ${image}`);
    for (const one of sticks) expect(stderr).toContain(one);
  });
});
