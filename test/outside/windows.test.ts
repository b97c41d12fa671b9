import { spawnSync } from 'node:child_process';
import { copyFileSync, existsSync, mkdirSync, mkdtempSync, readFileSync, rmSync, symlinkSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join, resolve } from 'node:path';
import { afterAll, beforeAll, describe, expect, vi } from 'vitest';
import { makeArchive, packageName, panelLabel } from '../fixtures/desk.ts';
import { needs } from './needs.ts';

// The package for Windows, unpacked, as a Windows process under Wine. Wine is no Windows: it has no file system of
// Microsoft's, no PowerShell and no USB bus; what is shown here is paths, drive letters, files, exit codes and what
// happens where no drive can be listed.
vi.setConfig({ testTimeout: 300_000, hookTimeout: 900_000 });

const { version } = JSON.parse(readFileSync('package.json', 'utf8')) as { version: string };
const folder = mkdtempSync(join(tmpdir(), 'stickwright wine '));
const itOnWine = needs({ wine: 'wine', unzip: 'unzip', sha256sum: 'coreutils' });
const hasWine = spawnSync('wine', ['--version']).status === 0;
const environment = { ...process.env, WINEPREFIX: join(folder, 'prefix'), WINEDEBUG: '-all' };
const stick = join(folder, 'stick');
const tool = join(folder, `stickwright-${version}-win-x64`);
/** A path of this machine as Wine names it. */
const onZ = (path: string): string => `Z:${resolve(path).replaceAll('/', '\\')}`;

const wine = (words: readonly string[], more: Readonly<Record<string, string>> = {}, cwd = tool) => {
  // Node on Wine cannot write to a pipe of the host; to a file it can.
  const said = (name: string): string => join(folder, `${name}.txt`);
  const line = 'exec wine "$@" >"$STDOUT" 2>"$STDERR" </dev/null';
  const env = { ...environment, ...more, STDOUT: said('stdout'), STDERR: said('stderr') };
  const done = spawnSync('sh', ['-c', line, 'sh', ...words], { cwd, env });
  const read = (name: string): string => readFileSync(said(name), 'utf8').replaceAll('\r', '');
  return { exitCode: done.status, stdout: read('stdout'), stderr: read('stderr') };
};
const stickwright = (...words: readonly string[]) => wine(['cmd', '/c', 'stickwright.cmd', ...words]);

describe('the package for Windows', () => {
  beforeAll(() => {
    if (!hasWine) return; // each test says so, or fails where that counts
    mkdirSync(stick);
    const packed = spawnSync(process.execPath, ['bin/package.mjs', 'win-x64'], { encoding: 'utf8' });
    expect(packed.status, packed.stderr).toBe(0);
    spawnSync('unzip', ['-q', resolve('out/package', `stickwright-${version}-win-x64.zip`), '-d', folder]);
    spawnSync('wineboot', ['-i'], { env: environment });
    spawnSync('winecfg', ['-v', 'win10'], { env: environment });
    symlinkSync(stick, join(folder, 'prefix/dosdevices/e:'));
  });
  afterAll(() => {
    spawnSync('wineserver', ['-k'], { env: environment });
    rmSync(folder, { recursive: true, force: true });
  });

  itOnWine(
    'prepares a stick behind a letter, empty and without a list of drives, as any machine can check',
    async () => {
      const firmware = await makeArchive(folder, undefined, packageName);
      const job = ['--mode', 'in-os', '--label', panelLabel, '--stick', 'E:', '--family', 'families', '--yes'];
      const prepared = stickwright('prepare', onZ(firmware), ...job);
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
    const firmware = await makeArchive(folder, undefined, packageName);
    const job = ['--mode', 'in-os', '--label', panelLabel, '--stick', 'c:/', '--family', 'families', '--yes'];
    const refused = stickwright('prepare', onZ(firmware), ...job);
    expect(refused.stdout).toContain('[stick/refused]');
    expect(existsSync(join(folder, 'prefix/drive_c/stickwright'))).toBe(false);
  });

  itOnWine('formats, prepares, verifies and proves an image', async () => {
    const firmware = await makeArchive(folder, undefined, packageName);
    const image = onZ(join(folder, 'stick.img'));
    expect(stickwright('format', image, '--for', 'in-os', '--size', '64MB', '--yes').exitCode).toBe(0);
    const job = ['--mode', 'in-os', '--label', panelLabel, '--stick', image, '--family', 'families', '--yes'];
    expect(stickwright('prepare', onZ(firmware), ...job).stdout).toContain('Written, read back');
    expect(stickwright('verify', image, '--label', panelLabel).stdout).toContain('1 of 1 file');
    expect(stickwright('prove', image, '--yes').stdout).not.toContain('fault of the tool');
  });

  itOnWine('starts no program that lies in the folder it is started in', () => {
    const trap = join(folder, 'trap');
    mkdirSync(trap);
    // Named as what Windows would look for first; Wine's own trace says which programs were started.
    for (const name of ['powershell.exe', 'mountvol.exe']) copyFileSync(join(tool, 'node.exe'), join(trap, name));
    const startedBy = (...words: readonly string[]): string => {
      const { stderr } = wine(words, { WINEDEBUG: '+process' }, trap);
      return stderr
        .split('\n')
        .filter((line) => line.includes('CreateProcess'))
        .join('\n');
    };
    // Whoever looks by name alone starts it, and the trace shows that.
    expect(startedBy('cmd', '/c', 'mountvol.exe', '--version')).toContain('trap');
    const ours = [onZ(join(tool, 'node.exe')), onZ(join(tool, 'app/bin/stickwright.js'))];
    for (const words of [['drives'], ['verify', 'E:']]) {
      const started = startedBy(...ours, ...words);
      expect(started).toContain('CreateProcess');
      expect(started).not.toContain('trap');
    }
  });
});
