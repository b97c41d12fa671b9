import { spawnSync } from 'node:child_process';
import {
  copyFileSync,
  existsSync,
  mkdirSync,
  readdirSync,
  readFileSync,
  rmSync,
  statSync,
  writeFileSync,
} from 'node:fs';
import { join } from 'node:path';
import { afterAll, beforeAll, describe, expect, vi } from 'vitest';
import { firmwareTree, makeArchive, noise, packageName, panelLabel } from '../fixtures/desk.ts';
import { makeSparse, run } from '../fixtures/volumes/scratch.ts';
import { onZ, WineDesk } from '../fixtures/wine/desk.ts';
import { needs } from './needs.ts';
import { describeDrives } from './windows-drives.ts';
import { describeFailing } from './windows-failing.ts';
import { describeRaw } from './windows-raw.ts';
import { describeWindow } from './windows-window.ts';

// The package for Windows, unpacked, as a Windows process under Wine. Wine is no Windows: it has no file system of
// Microsoft's, no PowerShell and no USB bus; what is shown here is paths, drive letters, files, exit codes and what
// happens where no drive can be listed, or where a stand-in for PowerShell answers.
vi.setConfig({ testTimeout: 300_000, hookTimeout: 900_000 });

const wineNeeds = {
  wine: 'wine',
  unzip: 'unzip',
  sha256sum: 'coreutils',
  'mkfs.fat': 'dosfstools',
  'mkfs.exfat': 'exfatprogs',
  mdir: 'mtools',
  fusefat: 'fusefat',
  python3: 'python3',
  'x86_64-w64-mingw32-gcc': 'gcc-mingw-w64-x86-64-win32',
};
const desk = new WineDesk();
const itOnWine = needs(wineNeeds);
const hasWine = spawnSync('wine', ['--version']).status === 0;
const stick = join(desk.folder, 'stick');
const { stickwright } = desk;
const jobFor = (target: string): readonly string[] => [
  '--mode',
  'in-os',
  '--label',
  panelLabel,
  '--stick',
  target,
  '--family',
  'families',
  '--yes',
];

beforeAll(() => {
  if (!hasWine) return; // each test says so, or fails where that counts
  desk.start();
  desk.letter('e', stick);
});
afterAll(() => {
  spawnSync('umount', [join(desk.folder, 'umlauts')]);
  desk.end();
});

describe('the package for Windows', () => {
  itOnWine(
    'prepares a stick behind a letter, empty and without a list of drives, as any machine can check',
    async () => {
      const firmware = await makeArchive(desk.folder, undefined, packageName);
      const prepared = stickwright('prepare', onZ(firmware), ...jobFor('E:'));
      expect([prepared.exitCode, prepared.stdout]).toEqual([4, expect.stringContaining('Written, read back')]);
      const checked = spawnSync('sha256sum', ['-c', 'stickwright/checksums.sha256'], { cwd: stick, encoding: 'utf8' });
      expect([checked.status, checked.stdout]).toEqual([0, `${packageName}: OK\n`]);
      for (const letter of ['E:', 'e:\\', 'E:/']) {
        const verified = stickwright('verify', letter, '--label', panelLabel);
        expect([verified.exitCode, verified.stdout], letter).toEqual([4, expect.stringContaining('1 of 1 file')]);
      }
      expect(stickwright('verify', 'E:', '--label', 'K3-second 75/5B').exitCode).toBe(1);
    },
  );

  itOnWine('never writes to the letter of the system', async () => {
    const firmware = await makeArchive(desk.folder, undefined, packageName);
    const refused = stickwright('prepare', onZ(firmware), ...jobFor('c:/'));
    expect(refused.stdout).toContain('[stick/refused]');
    expect(existsSync(join(desk.systemDrive, 'stickwright'))).toBe(false);
  });

  itOnWine('formats, prepares, verifies and proves an image', async () => {
    const firmware = await makeArchive(desk.folder, undefined, packageName);
    const image = onZ(join(desk.folder, 'stick.img'));
    expect(stickwright('format', image, '--for', 'in-os', '--size', '64MB', '--yes').exitCode).toBe(0);
    expect(stickwright('prepare', onZ(firmware), ...jobFor(image)).stdout).toContain('Written, read back');
    expect(stickwright('verify', image, '--label', panelLabel).stdout).toContain('1 of 1 file');
    expect(stickwright('prove', image, '--yes').stdout).not.toContain('fault of the tool');
  });

  itOnWine(
    'starts no program that lies on the stick, nor in the folder it is started in',
    { tags: ['nobody-else'] },
    () => {
      const planted = ['powershell.exe', 'whoami.exe', 'rundll32.exe', 'cmd.exe', 'mountvol.exe'];
      // Named as what Windows would look for first; Wine's own trace says which programs were started.
      const small = join(desk.systemDrive, 'windows/system32/hostname.exe');
      for (const name of planted) copyFileSync(small, join(stick, name));
      const startedBy = (...words: readonly string[]): string => {
        const own = { WINEDEBUG: '+process', STICKWRIGHT_SEAL_KEY: 'E:\\desk.key' };
        const { stderr } = desk.wine(words, own, stick);
        return stderr
          .split('\n')
          .filter((line) => line.includes('CreateProcess'))
          .join('\n');
      };
      const isPlanted = new RegExp(`(E:\\\\+|stick\\\\+)(${planted.join('|')})`, 'i');
      // Whoever looks by name alone starts it, and the trace shows that.
      expect(startedBy('C:\\windows\\system32\\cmd.exe', '/c', 'mountvol.exe', '--version')).toMatch(isPlanted);
      const ours = [desk.node, onZ(join(desk.tool, 'app/bin/stickwright.js'))];
      for (const words of [['drives'], ['verify', 'E:'], ['seal', 'new']]) {
        const started = startedBy(...ours, ...words);
        expect(started).toContain('CreateProcess');
        expect(started).not.toMatch(isPlanted);
      }
      for (const name of planted) rmSync(join(stick, name));
    },
  );
});

describe('a desk on Windows', () => {
  itOnWine('keeps its key where it does not roam, and only where no other account may use it', () => {
    const own = 'O:S-1-5-21-1-2-3-1001D:(A;ID;FA;;;SY)(A;ID;FA;;;S-1-5-21-1-2-3-1001)';
    const rights = (sddl: string): void =>
      desk.answerPowerShell({
        stdout: JSON.stringify({ said: { sddl, me: '"PC\\mk","S-1-5-21-1-2-3-1001"' } }),
      });
    rights(own);
    const made = stickwright('seal', 'new');
    expect([made.exitCode, made.stdout]).toEqual([0, expect.stringMatching(/AppData\\Local\\.*desk\.key/)]);
    expect(desk.asked).toMatch(/Get-Acl -LiteralPath '.*desk\.key'/);
    expect(stickwright('seal', 'show').exitCode).toBe(0);
    rights(`${own}(A;ID;FR;;;WD)`);
    const open = stickwright('seal', 'show');
    expect([open.exitCode, open.stderr]).toEqual([3, expect.stringContaining('[file/not-permitted]')]);
    expect(open.stderr.replace(/\s+/g, ' ')).toContain('other accounts may use it (WD)');
    const elsewhere = { STICKWRIGHT_SEAL_KEY: 'E:\\desk.key' };
    const refused = desk.wine(['cmd', '/c', 'stickwright.cmd', 'seal', 'new'], elsewhere);
    expect(refused.exitCode).toBe(3);
    expect(existsSync(join(stick, 'desk.key'))).toBe(false);
    desk.answerPowerShell({ stdout: '' });
    expect(stickwright('seal', 'show').exitCode).toBe(0); // nobody tells, and it is the own folder
    rmSync(/Private +(.*)/.exec(made.stdout)?.[1]?.replace(/^C:/, desk.systemDrive).replaceAll('\\', '/') ?? '');
  });

  itOnWine('keeps packages below a path longer than Windows once took, with umlauts in it', async () => {
    const firmware = await makeArchive(desk.folder, undefined, packageName);
    const deep = join(desk.folder, ...Array.from({ length: 6 }, (_, at) => `Größe ${at} ${'x'.repeat(44)}`));
    mkdirSync(deep, { recursive: true });
    expect(onZ(deep).length).toBeGreaterThan(260);
    const shelf = ['--shelf', `${onZ(deep)}\\Regal`];
    const added = stickwright('shelf', 'add', onZ(firmware), ...shelf, '--from', 'https://example.org/');
    expect(added.exitCode, added.stdout + added.stderr).toBe(4); // no published hash
    const found = stickwright(
      'shelf',
      'find',
      '--label',
      panelLabel,
      '--running',
      'reed.746',
      '--family',
      'families',
      ...shelf,
    );
    expect(found.stdout).toContain(packageName);
    expect(stickwright('shelf', 'check', ...shelf).stdout).toContain(packageName);
    const words = ['--from-shelf', '--mode', 'in-os', '--label', panelLabel, '--stick', 'E:', '--yes'];
    const prepared = stickwright('prepare', ...words, '--family', 'families', '--leftovers', 'remove', ...shelf);
    expect(prepared.stdout).toMatch(/Written, read back|as it should be|nothing (was )?written/i);
  });

  itOnWine('brings umlauts to a stick as they are, and refuses what no Windows could read', async () => {
    const folder = desk.letter('u', join(desk.folder, 'umlauts'));
    run('mount', '-t', 'tmpfs', '-o', 'size=64m', 'umlauts', folder); // of a size that the panel takes
    const archives = join(desk.folder, 'archives');
    mkdirSync(archives);
    const tree = { ...firmwareTree, 'images/größe-ß.img': noise(9, 1000) };
    const recovery = (archive: string) =>
      stickwright('prepare', onZ(archive), ...jobFor('U:').map((word) => (word === 'in-os' ? 'recovery' : word)));
    const made = recovery(await makeArchive(archives, tree, packageName));
    expect([made.exitCode, made.stdout]).toEqual([4, expect.stringContaining('Written, read back')]);
    expect(readFileSync(join(folder, 'images/größe-ß.img')).equals(noise(9, 1000))).toBe(true);
    const checked = spawnSync('sha256sum', ['-c', 'stickwright/checksums.sha256'], { cwd: folder, encoding: 'utf8' });
    expect(checked.stdout).toContain('images/größe-ß.img: OK');
    const reserved = { ...firmwareTree, 'images/aux.img': noise(9, 1000) };
    const refused = recovery(await makeArchive(archives, reserved, packageName));
    expect([refused.exitCode, refused.stdout]).toEqual([1, expect.stringContaining('[archive/name-not-for-fat]')]);
  });

  itOnWine('goes through a small round to its cards as HTML', async () => {
    const list = join(desk.folder, 'rooms.csv');
    writeFileSync(list, `Room,Panel label\r\nZ\u00fcrich 1,${panelLabel}\r\nZ\u00fcrich 2,${panelLabel}\r\n`);
    const shelf = `${onZ(desk.folder)}\\Shelf`;
    const env = { STICKWRIGHT_SHELF: shelf, STICKWRIGHT_FAMILIES: 'families' };
    const round = (...words: readonly string[]) => desk.wine(['cmd', '/c', 'stickwright.cmd', ...words], env);
    const firmware = onZ(await makeArchive(desk.folder));
    round('shelf', 'add', firmware);
    const planned = round('round', 'plan', onZ(list), '--mode', 'in-os', '--sticks', '1');
    expect(planned.stdout, planned.stderr).toContain('2 rooms');
    const folder = ['--round', onZ(join(desk.folder, 'rooms.round'))];
    expect(round('round', 'cards', ...folder).exitCode).toBe(0);
    const pages = join(desk.folder, 'rooms.round');
    const names = readdirSync(pages, { recursive: true, encoding: 'utf8' }).filter((path) => path.endsWith('.html'));
    expect(names.some((path) => readFileSync(join(pages, path), 'utf8').includes('Z\u00fcrich 2'))).toBe(true);
    expect(
      round('round', 'record', 'Z\u00fcrich 1', '--build', 'reed.1717', '--who', 'I. Marlow', ...folder).exitCode,
    ).toBe(0);
    expect(round('round', 'status', ...folder).stdout).toContain('2: 1 done');
  });

  itOnWine('stops at Ctrl-C, and the same command goes on', async () => {
    const image = makeSparse(join(desk.folder, 'long.img'), 2 ** 29);
    const words = [desk.node, onZ(join(desk.tool, 'app/bin/stickwright.js')), 'prove', onZ(image), '--yes'];
    const stopped = desk.pressCtrlC(image, 16 * 2 ** 20, words);
    expect(stopped.exitCode, stopped.stdout + stopped.stderr).toBe(130);
    expect(statSync(image).blocks * 512).toBeLessThan(2 ** 29);
    expect(stopped.stdout + stopped.stderr).not.toContain('fault of the tool');
    const again = desk.wine(words);
    expect([again.exitCode, again.stdout + again.stderr]).toEqual([
      4,
      expect.stringMatching(/written\s+and\s+read back/),
    ]);
  });

  itOnWine('asks nothing where nobody sits at a terminal', () => {
    const { exitCode, stderr } = stickwright('guide');
    expect([exitCode, stderr]).toEqual([2, expect.stringContaining('not a terminal')]);
  });
});

describeDrives(desk, itOnWine, jobFor);
describeRaw(desk, itOnWine);
describeFailing(desk, itOnWine, jobFor);
describeWindow(desk, needs({ ...wineNeeds, chromium: 'chromium' }), hasWine);
