import { isAbsolute, win32 } from 'node:path';
import { describe, expect, test } from 'vitest';
import {
  environmentFor,
  environmentForBrowser,
  folderToStartIn,
  placesOfProgram,
  systemFolders,
  windowsFolder,
} from '../../../src/io/programs/find-program.ts';
import { runBrowser, runProgram } from '../../../src/io/programs/run-program.ts';

const own = { tags: ['nobody-else'] };
const windows = { SystemRoot: 'C:\\Windows' };
const powershell = 'C:\\Windows\\System32\\WindowsPowerShell\\v1.0\\powershell.exe';

describe('where programs of the system lie', () => {
  test('on Windows PowerShell has one place, below the folder of Windows', own, () => {
    expect(placesOfProgram('powershell.exe', 'win32', windows)).toEqual([powershell]);
    expect(placesOfProgram('powershell.exe', 'win32', { SYSTEMROOT: 'D:\\WINNT\\' })).toEqual([
      'D:\\WINNT\\System32\\WindowsPowerShell\\v1.0\\powershell.exe',
    ]);
    expect(placesOfProgram('sync', 'win32', windows)).toEqual([]);
  });

  const odd = [
    '',
    '.',
    '..',
    'Windows',
    '\\Windows',
    'C:',
    'C:Windows',
    'C:\\',
    'C:\\..\\E:',
    'C:\\a\\..\\b',
    'C:/Windows',
  ];
  const far = [
    '\\\\server\\share\\Windows',
    '//server/share',
    '\\\\?\\C:\\Windows',
    '\\\\.\\E:\\',
    'E:\\a:b',
    'C:\\*',
    ' C:\\W',
  ];
  test.each([...odd, ...far])(
    'on Windows a SystemRoot of "%s" is none, and nothing is started then',
    own,
    (SystemRoot) => {
      expect(windowsFolder({ SystemRoot })).toBeUndefined();
      expect(placesOfProgram('powershell.exe', 'win32', { SystemRoot })).toEqual([]);
    },
  );

  test('elsewhere they are looked for in fixed folders, whatever the search path says', own, () => {
    for (const platform of ['linux', 'darwin', 'freebsd'] as const) {
      for (const PATH of [undefined, '', '.', ':/media/stick', '/media/stick']) {
        const places = placesOfProgram('umount', platform, { PATH });
        expect(places).toEqual(placesOfProgram('umount', platform, {}));
        expect(places.length).toBeGreaterThan(3);
        expect(places.filter((path) => !isAbsolute(path))).toEqual([]);
        expect(places.filter((path) => /^\/(media|mnt|tmp|home|Users|Volumes)/.test(path))).toEqual([]);
      }
    }
  });
});

describe('what a program is given', () => {
  const from = {
    PATH: '.:/media/stick',
    Path: 'E:\\',
    HOME: '/home/mk',
    LANG: 'de_DE.UTF-8',
    LD_PRELOAD: '/media/stick/x.so',
    LD_LIBRARY_PATH: '/media/stick',
    DYLD_INSERT_LIBRARIES: '/Volumes/STICK/x.dylib',
    BASH_ENV: '/media/stick/rc',
    PSModulePath: 'E:\\Modules',
    pathext: '.LNK',
    SystemRoot: 'C:\\Windows',
    TEMP: 'C:\\Temp',
    DISPLAY: ':0',
  };

  test('is a search path of the system and no more than is known to be needed', own, () => {
    const { PATH, ...others } = environmentFor('linux', from);
    expect(PATH).toBe(systemFolders('linux', {}).join(':'));
    expect(others).toEqual({ HOME: '/home/mk', LANG: 'de_DE.UTF-8' });
    expect(environmentFor('win32', from)).toEqual({
      SystemRoot: 'C:\\Windows',
      TEMP: 'C:\\Temp',
      PATH: systemFolders('win32', windows).join(';'),
      PATHEXT: '.COM;.EXE;.BAT;.CMD',
      PSModulePath: `${win32.dirname(powershell)}\\Modules`,
      NoDefaultCurrentDirectoryInExePath: '1',
    });
  });

  test('is all that the person set, for their browser, but for what leads to other programs and libraries', own, () => {
    const given = environmentForBrowser('linux', from);
    expect(given).toMatchObject({ PATH: systemFolders('linux', {}).join(':'), DISPLAY: ':0', HOME: '/home/mk' });
    expect(Object.keys(given).filter((name) => /^(path|ld_|dyld_)/i.test(name) && name !== 'PATH')).toEqual([
      'pathext',
    ]);
    const onWindows = environmentForBrowser('win32', from);
    expect(Object.keys(onWindows).filter((name) => /^path/i.test(name))).toEqual(['PATH', 'PATHEXT']);
  });

  test('is a folder to start in that is not the stick', own, () => {
    expect(folderToStartIn('linux', from)).toBe('/');
    expect(folderToStartIn('win32', windows)).toBe('C:\\Windows\\System32');
  });
});

describe('starting', () => {
  test.skipIf(process.platform !== 'linux')('says where it looked for a program that is not there', own, async () => {
    await expect(runProgram('powershell.exe', [])).rejects.toThrow(
      /powershell\.exe is not among the programs of this system \(looked in \/usr\/bin, /,
    );
  });

  test('starts no browser by a name', own, async () => {
    const running = { limitMs: 1000, signal: undefined };
    expect(await runBrowser('chromium', [], running)).toBe('chromium is not the full path of a program');
  });
});
