import { readFileSync } from 'node:fs';
import { describe, expect, it } from 'vitest';
import { listDrivesFrom } from '../../../src/io/drives/list-drives.ts';
import { windowsDrivesBy } from '../../../src/io/drives/windows-drives.ts';
import { powerShellWords, runOfSystem, runPowerShell } from '../../../src/io/programs/run-powershell.ts';
import { reasonOf } from '../../../src/io/programs/run-program.ts';

// Answers of PowerShell as it is said to give them; it does not run here. `test/outside/windows.test.ts` asks a
// stand-in as a Windows process does.
const recorded = readFileSync(new URL('../drives/recorded/windows-storage.json', import.meta.url), 'utf8');
const said = (text: string) => async () => text;
const answer = `{"said":${JSON.stringify(JSON.parse(recorded))}}`;

describe('PowerShell', () => {
  it.each([
    ['as one line', `${answer}\r\n`],
    ['with a byte order mark', `\ufeff${answer}\r\n`],
    ['behind a warning of another program', `Loading personal profiles\r\n${answer}\r\n`],
  ])('is understood %s', async (_, text) => {
    expect(await runPowerShell('x', said(text))).toEqual(JSON.parse(recorded));
  });

  it.each([
    ['', 'PowerShell says nothing'],
    [answer.slice(0, 400), 'what PowerShell says breaks off'],
    ['#< CLIXML', 'what PowerShell says breaks off'],
    ['{"failed":"Zugriff verweigert \\u2013 Datentr\\u00e4ger"}', 'Zugriff verweigert – Datenträger'],
  ])('that says %j is told as: %s', async (text, message) => {
    await expect(runPowerShell('x', said(text))).rejects.toThrow(message);
  });

  it('is asked in a form that a restricted one takes, and that no quoting touches', async () => {
    let script = '';
    const run = async (program: string, words: readonly string[]) => {
      expect([program, words.at(-2)]).toEqual(['powershell.exe', '-EncodedCommand']);
      script = Buffer.from(words.at(-1) ?? '', 'base64').toString('utf16le');
      return '{"said":null}';
    };
    const [program, ...words] = powerShellWords(`Get-Disk -Number 3 | Where-Object { $_.Name -eq 'Ü"' }`);
    expect(await runOfSystem(program, words, run)).toBe('');
    expect(script).toContain(`Where-Object { $_.Name -eq 'Ü"' }`);
    // Constrained language mode (about_Language_Modes): no method of a type that is not a core one, no New-Object.
    expect(script).not.toMatch(/\]::|New-Object|Add-Type/);
    expect(script).toContain('$text.Replace('); // of a string, which is one
  });

  it('is quoted with its first line where it failed, and other programs with their last', () => {
    const error = (cmd: string, message: string) => Object.assign(new Error(message), { cmd });
    const text = 'Command failed: x\nThe term is not known.\nAt line:1 char:1\n+ FullyQualifiedErrorId : Z\n';
    expect(reasonOf(error('C:\\W\\powershell.exe -x', text))).toBe('The term is not known.');
    expect(reasonOf(error('/bin/umount /x', 'Command failed: x\nfirst\numount: /x: target is busy.\n'))).toBe(
      'umount: /x: target is busy.',
    );
  });
});

describe('the drives of Windows', () => {
  it('are asked for once where that takes long, and again later', async () => {
    let [now, asked] = [0, 0];
    const source = windowsDrivesBy(
      () => {
        asked++;
        now += 20_000;
        return Promise.reject(new Error('powershell.exe did not answer within 20 s'));
      },
      () => now,
    );
    for (let times = 0; times < 5; times++) await expect(source.listDrives([])).rejects.toThrow('did not answer');
    expect(asked).toBe(1);
    now += 60_000;
    await expect(source.listDrives([])).rejects.toThrow('did not answer');
    expect(asked).toBe(2);
  });

  it('that fail quickly are asked for each time', async () => {
    let asked = 0;
    const source = windowsDrivesBy(
      () => {
        asked++;
        return Promise.reject(new Error('no'));
      },
      () => 0,
    );
    for (let times = 0; times < 3; times++) await expect(source.listDrives([])).rejects.toThrow('no');
    expect(asked).toBe(3);
  });

  it('where nobody lists them: the letter does, and what is missing is said', async () => {
    const origins = { platform: 'win32', listBusDrives: async () => undefined, inUse: [] } as const;
    const source = windowsDrivesBy(() => Promise.reject(new Error('a rule of this computer forbids it')));
    await expect(listDrivesFrom({ ...origins, source })).rejects.toMatchObject({
      code: 'drives/unavailable',
      message: 'this computer does not tell what is plugged in: a rule of this computer forbids it',
      todo: expect.stringMatching(/drive letter \(E:\).*Windows PowerShell 5\.1/s),
    });
    expect(await source.mountOf('Q:\\')).toBeUndefined(); // and there is nothing to read behind it here
  });

  it('that are write-protected by their switch mount what they carry read-only', async () => {
    const { disks, ...rest } = JSON.parse(recorded);
    const locked = { ...rest, disks: disks.map((disk: object) => ({ ...disk, IsReadOnly: true })) };
    expect((await windowsDrivesBy(async () => locked).mountOf('e:\\'))?.readOnly).toBe(true);
    expect((await windowsDrivesBy(async () => JSON.parse(recorded)).mountOf('E:'))?.readOnly).toBe(false);
  });
});
