import { spawn, spawnSync } from 'node:child_process';
import { once } from 'node:events';
import { existsSync, mkdirSync, mkdtempSync, readFileSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join, resolve } from 'node:path';
import { afterAll, beforeAll, describe, expect, test, vi } from 'vitest';
import { type Answer, stickwright } from '../fixtures/command.ts';
import { firmwareTree, makePublishedArchive, noise, packageName, panelLabel } from '../fixtures/desk.ts';
import { plantPrograms, standIns } from '../fixtures/stand-ins.ts';
import { attachLoop, canMount } from '../fixtures/volumes/mounts.ts';
import { makeFatImage, makeScratch } from '../fixtures/volumes/scratch.ts';
import { itWithout, missingPrograms, needs } from '../outside/needs.ts';

vi.setConfig({ testTimeout: 240_000 });

const own = { tags: ['nobody-else'] };
const folder = mkdtempSync(join(tmpdir(), 'stickwright planted-'));
const stick = join(folder, 'the stick');
const mark = join(folder, 'somebody ran me');
let archive = '';

/** What was ever started, and what might be; a stick may hold programs of any name. */
const names = [
  ...['lsblk', 'blkid', 'findmnt', 'mount', 'umount', 'udisksctl', 'sync', 'eject', 'blockdev', 'mkfs.exfat'],
  ...['diskutil', 'df', 'newfs_exfat', 'powershell.exe', 'pwsh', 'cmd.exe', 'sh', 'which', 'node', 'npm', 'npm.cmd'],
  ...['chromium', 'chromium-browser', 'google-chrome', 'google-chrome-stable', 'microsoft-edge', 'xdg-open', 'open'],
];

beforeAll(async () => {
  mkdirSync(stick);
  plantPrograms(stick, Object.fromEntries(names.map((name) => [name, `echo "$0 $*" >> '${mark}'`])));
  // So many files that a folder is synced by one program instead of one by one.
  const many = Object.fromEntries(Array.from({ length: 30 }, (_, at) => [`images/part-${at}.img`, noise(at + 9, 100)]));
  archive = await makePublishedArchive(folder, { ...firmwareTree, ...many });
});
afterAll(() => rmSync(folder, { recursive: true, force: true }));

const real = process.env.PATH ?? '';
/**
 * Search paths that lead to the stick: relative, empty (which means the current folder, POSIX.1-2017 section 8.3), and
 * the stick itself.
 */
const searchPaths = { relative: `.:${real}`, empty: `:${real}`, 'the stick': `${stick}:${real}`, 'nothing else': '.' };

const runOn = (words: readonly string[], path: string): Answer => {
  const done = spawnSync(process.execPath, [resolve('bin/stickwright.js'), ...words], {
    cwd: stick,
    encoding: 'utf8',
    maxBuffer: 2 ** 28,
    env: {
      ...process.env,
      PATH: path,
      STICKWRIGHT_FAMILIES: resolve('samples/families'),
      STICKWRIGHT_SHELF: join(folder, 'shelf'),
      STICKWRIGHT_ROUND: join(folder, 'a.round'),
      XDG_CONFIG_HOME: join(folder, 'config'),
      STICKWRIGHT_COLUMNS: join(folder, 'columns.json'),
      STICKWRIGHT_BROWSER: '',
      XDG_DATA_HOME: join(folder, 'data'),
      NO_COLOR: '',
    },
  });
  return { exitCode: done.status, stdout: done.stdout, stderr: done.stderr };
};
const ran = (): string => (existsSync(mark) ? readFileSync(mark, 'utf8') : '');

const stops = ['file-system-not-taken', 'partition-table-not-taken', 'larger-than-the-panel-takes'];
const accepted = stops.flatMap((code) => ['--accept', `stick/${code}`, '--because', 'a folder in a test']);
const image = (name: string): string => join(folder, `${name}.img`);

/** Every command, in an order in which each finds what it needs, and the exit codes that say that it did its work. */
const commands = (): readonly (readonly [readonly string[], readonly number[]])[] => [
  [['drives', '--all'], [0]],
  [['label', panelLabel], [0]],
  [['explain', 'stick/dirty'], [0]],
  [['family', 'list'], [0]],
  [['compare', packageName, '--running', 'reed.746'], [0]],
  [['inspect', archive, '--label', panelLabel], [0]],
  [['format', image('exfat'), '--for', 'in-os', '--file-system', 'exfat', '--size', '64MB', '--yes'], [0]],
  [['format', image('fat'), '--for', 'recovery', '--size', '64MB', '--yes'], [0]],
  [
    ['prove', image('exfat'), '--yes'],
    [0, 4],
  ],
  [['seal', 'new'], [0]],
  [
    [
      'prepare',
      archive,
      '--mode',
      'recovery',
      '--label',
      panelLabel,
      '--running',
      'reed.746',
      '--stick',
      '.',
      '--yes',
      ...accepted,
    ],
    [0, 4],
  ],
  [
    ['verify', '.'],
    [0, 4],
  ],
  [
    ['shelf', 'add', archive],
    [0, 4],
  ],
  [
    ['round', 'plan', resolve('samples/rooms/quillhaven.csv')],
    [0, 1, 4],
  ],
  [
    ['round', 'prepare', '--stick', image('fat'), '--yes', '--dry-run'],
    [0, 1, 4],
  ],
  [['round', 'status'], [1]],
  [['next'], [0]],
  [['settings'], [0]],
  [['check-desk'], [0, 1, 4]],
  [['complete', 'bash'], [0]],
  [['man'], [0]],
  // It asks, and nobody sits there.
  [['guide'], [2]],
];

const onLinux =
  process.platform === 'linux' ? missingPrograms({ lsblk: 'util-linux', 'mkfs.exfat': 'exfatprogs' }) : 'Linux';
const it = onLinux === '' ? test : itWithout(onLinux);

describe('programs that lie on the stick', () => {
  it('are never started, by any command, in whatever way the search path leads to them', own, () => {
    const listed = [...stickwright(['--help']).stdout.matchAll(/^ {2}([a-z]+) {2,}\S/gm)].map(([, name]) => name);
    // The desk goes on until somebody ends it: it has a test of its own, below.
    const covered = new Set([...commands().map(([[name]]) => name), 'desk']);
    expect(listed.filter((name) => name !== 'help' && !covered.has(name ?? ''))).toEqual([]);
    expect(listed.length).toBeGreaterThan(10);

    for (const [words, codes] of commands()) {
      const { exitCode, stdout, stderr } = runOn(words, `.:${stick}::${real}`);
      expect([words.join(' '), codes.includes(exitCode ?? -1) ? '' : `${exitCode}\n${stdout}${stderr}`]).toEqual([
        words.join(' '),
        '',
      ]);
      expect([words.join(' '), ran()]).toEqual([words.join(' '), '']);
    }
    for (const path of Object.values(searchPaths)) {
      expect(runOn(['drives', '--all'], path).exitCode).toBe(0);
      expect([path, ran()]).toEqual([path, '']);
    }
  });

  it('do not open the desk, which opens the browser by what the system has for that', own, async () => {
    const raised = process.getuid?.() === 0 ? ['--raised'] : [];
    const desk = spawn(process.execPath, [resolve('bin/stickwright.js'), 'desk', ...raised], {
      cwd: stick,
      env: {
        ...process.env,
        PATH: `.:${stick}::${real}`,
        STICKWRIGHT_FAMILIES: resolve('samples/families'),
        STICKWRIGHT_SHELF: join(folder, 'shelf'),
        XDG_DATA_HOME: join(folder, 'data'),
      },
      stdio: ['ignore', 'ignore', 'pipe'],
    });
    const ended = once(desk, 'exit');
    let said = '';
    for await (const chunk of desk.stderr) {
      said += String(chunk);
      // It has been opened, or could not be; the sticks are looked at all the while.
      if (said.includes('Ctrl-C closes the desk') || said.includes('No browser could be opened')) break;
    }
    await new Promise((over) => setTimeout(over, 2000));
    desk.kill();
    await ended;
    expect(said).toContain('The desk is open');
    expect(ran()).toBe('');
  });

  needs({ chromium: 'chromium' })('are no browser either', own, () => {
    for (const words of [
      ['shelf', 'add', archive],
      ['round', 'plan', resolve('samples/rooms/quillhaven.csv')],
    ])
      runOn(words, real);
    const cards = runOn(['round', 'cards', '--pdf'], `.:${stick}:${real}`);
    expect([cards.exitCode, cards.exitCode === 0 ? '' : cards.stderr]).toEqual([0, '']);
    expect(readFileSync(join(folder, 'a.round/print/cards.pdf')).subarray(0, 5).toString()).toBe('%PDF-');
    expect(ran()).toBe('');
  });

  const attach = onLinux !== '' || canMount ? onLinux : 'the right to attach loop devices (run as root)';
  (attach === '' ? needs({ losetup: 'mount' }) : itWithout(attach))(
    'do not let go of a drive, nor tell the system of its new table',
    own,
    async () => {
      const scratch = makeScratch();
      try {
        const path = await makeFatImage(join(scratch.path, 'a.img'), 64 * 2 ** 20, {
          kind: 'fat32',
          partitioned: true,
        });
        const device = attachLoop(scratch, path);
        const words = ['format', device, '--for', 'recovery', '--drive-size', '64MiB', '--eject'];
        const { exitCode, stdout, stderr } = runOn(words, `.:${stick}:${real}`);
        expect([exitCode, exitCode === 0 ? '' : stdout + stderr]).toEqual([0, '']);
        expect(stderr + stdout).toMatch(/pull/i);
        expect(ran()).toBe('');
      } finally {
        scratch.undo();
      }
    },
  );

  const spaces = onLinux !== '' || canMount ? onLinux : 'the right to mount (run as root)';
  (spaces === '' ? needs({ unshare: 'util-linux' }) : itWithout(spaces))(
    'are told from those of the system: one that lies where the system has its own is started',
    own,
    () => {
      const seen = join(folder, 'what it was given');
      const system = standIns({ lsblk: `{ pwd; env; } > '${seen}'; echo '{"blockdevices": []}'` });
      try {
        const [program, ...words] = system.around([process.execPath, resolve('bin/stickwright.js'), 'drives', '--all']);
        const preload = { LD_LIBRARY_PATH: stick, LSBLK_DEBUG: 'all', BASH_ENV: join(stick, 'sh') };
        const env = { ...process.env, ...preload, PATH: `.:${real}` };
        const done = spawnSync(program, words, { cwd: stick, encoding: 'utf8', env });
        expect([done.status, done.status === 0 ? '' : done.stderr]).toEqual([0, '']);
        const [workingFolder, ...variables] = readFileSync(seen, 'utf8').trim().split('\n');
        expect(workingFolder).toBe('/');
        expect(variables.find((line) => line.startsWith('PATH='))).toMatch(
          /^PATH=\/usr\/bin:\/bin:\/usr\/sbin:\/sbin:/,
        );
        expect(variables.filter((line) => line.includes(stick))).toEqual(
          [`OLDPWD=${stick}`].filter((l) => variables.includes(l)),
        );
        expect(ran()).toBe('');
      } finally {
        system.undo();
      }
    },
  );
});
