import { spawnSync } from 'node:child_process';
import { copyFileSync, existsSync, mkdirSync } from 'node:fs';
import { join } from 'node:path';
import { afterAll, beforeAll, describe, expect, vi } from 'vitest';
import { makeArchive, packageName, panelLabel } from '../fixtures/desk.ts';
import { onZ, WineDesk } from '../fixtures/wine/desk.ts';
import { needs } from './needs.ts';
import { describeDrives } from './windows-drives.ts';

// The package for Windows, unpacked, as a Windows process under Wine. Wine is no Windows: it has no file system of
// Microsoft's, no PowerShell and no USB bus; what is shown here is paths, drive letters, files, exit codes and what
// happens where no drive can be listed, or where a stand-in for PowerShell answers.
vi.setConfig({ testTimeout: 300_000, hookTimeout: 900_000 });

const wineNeeds = {
  wine: 'wine',
  unzip: 'unzip',
  sha256sum: 'coreutils',
  'mkfs.fat': 'dosfstools',
  fusefat: 'fusefat',
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
afterAll(() => desk.end());

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

  itOnWine('starts no program that lies in the folder it is started in', () => {
    const trap = join(desk.folder, 'trap');
    mkdirSync(trap);
    // Named as what Windows would look for first; Wine's own trace says which programs were started.
    for (const name of ['powershell.exe', 'mountvol.exe']) copyFileSync(join(desk.tool, 'node.exe'), join(trap, name));
    const startedBy = (...words: readonly string[]): string => {
      const { stderr } = desk.wine(words, { WINEDEBUG: '+process' }, trap);
      return stderr
        .split('\n')
        .filter((line) => line.includes('CreateProcess'))
        .join('\n');
    };
    // Whoever looks by name alone starts it, and the trace shows that.
    expect(startedBy('cmd', '/c', 'mountvol.exe', '--version')).toContain('trap');
    const ours = [desk.node, onZ(join(desk.tool, 'app/bin/stickwright.js'))];
    for (const words of [['drives'], ['verify', 'E:']]) {
      const started = startedBy(...ours, ...words);
      expect(started).toContain('CreateProcess');
      expect(started).not.toContain('trap');
    }
  });
});

describeDrives(desk, itOnWine, jobFor);
