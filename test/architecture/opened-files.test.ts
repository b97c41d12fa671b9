import { readdirSync, readFileSync } from 'node:fs';
import { describe, expect, it } from 'vitest';

const oneWay = 'src/io/files/regular-file.ts';

/** Who may open by other means, and why a pipe, a device or a link cannot be met there. */
const exceptions: Readonly<Record<string, string>> = {
  [oneWay]: 'it is the one way',
  'src/cli/words.ts': 'the package file of the program itself',
  'src/server/page-files.ts': 'the page, a part of the program itself',
  'src/io/volume/fat/fatfs-session.ts': 'a file of an installed package of the program itself',
  'src/io/drives/linux-drives.ts': 'files of the kernel in /proc and /sys',
  'src/io/volume/identify-stick.ts': 'files of the kernel in /sys',
  'src/io/volume/look-at-target.ts': 'files of the kernel in /proc and /sys, and a device that was looked at',
  'src/io/volume/is-gone.ts': 'files of the kernel in /sys, and on Windows a raw drive by its name',
  'src/io/format/claim-medium.ts': 'files of the kernel in /sys, and a device that was looked at',
  'src/io/volume/file-device.ts': 'an image or a device whose kind was looked at; waiting would hide a missing medium',
  'src/io/volume/direct-device.ts': 'an image or a device whose kind was looked at, opened around the cache',
  'src/io/drives/read-sectors-of.ts': 'a device whose kind is looked at',
  'src/io/volume/unknown-on-windows.ts': 'on Windows the sectors behind a letter',
  'src/io/volume/folder/folder-reader.ts': 'a file of the stick: neither follows a link nor waits',
  'src/io/files/durable-files.ts': 'to bring what lies there to the medium: neither follows a link nor waits',
};

const reads = ['open', 'openSync', 'readFile', 'readFileSync', 'createReadStream', 'openAsBlob'];
const writes = ['writeFile', 'writeFileSync', 'appendFile', 'appendFileSync', 'createWriteStream', 'copyFile', 'cp'];

const sources = readdirSync('src', { recursive: true, encoding: 'utf8' })
  .map((path) => `src/${path.replaceAll('\\', '/')}`)
  .filter((path) => /\.(ts|js)$/.test(path))
  .toSorted();

/** What a file takes from `node:fs` and `node:fs/promises`, under the names that they have there. */
function takenFrom(source: string): readonly string[] {
  const imports = [...source.matchAll(/import \{([^}]*)\} from 'node:fs(?:\/promises)?';/g)];
  return imports.flatMap(([, names = '']) => names.split(',').map((name) => name.trim().replace(/ as .*/, '')));
}

/**
 * Every call that could open what is there already: `'wx'` and `'ax'` only ever make a new file, and the kernel's own
 * are known.
 */
function opening(source: string): readonly string[] {
  const names = takenFrom(source).filter((name) => [...reads, ...writes].includes(name));
  return names.flatMap((name) => {
    const calls = [...source.matchAll(new RegExp(`(?<![.\\w])${name}\\((?:[^()]|\\([^()]*\\))*\\)`, 'g'))];
    return calls.map(([call]) => call).filter((call) => !/'[wa]x'|\(['`]\/(proc|sys)\/|\(\w+: /.test(call)); // a method's own head is no call
  });
}

describe('files that are expected to be regular ones', () => {
  it('are opened in one way only', { tags: ['nobody-else'] }, () => {
    expect(sources.length).toBeGreaterThan(200);
    const found = sources
      .filter((path) => exceptions[path] === undefined)
      .flatMap((path) => opening(readFileSync(path, 'utf8')).map((call) => `${path}: ${call}`));
    expect(found).toEqual([]);
  });

  it('nowhere come from all of node:fs, which would hide what is used of it', () => {
    const whole = sources.filter((path) => /from 'node:fs(\/promises)?'/.test(readFileSync(path, 'utf8')));
    const starred = whole.filter((path) => /import (\* as )?\w+ from 'node:fs/.test(readFileSync(path, 'utf8')));
    expect(starred).toEqual([]);
  });

  it('has no exception that is not needed any more', () => {
    const idle = Object.keys(exceptions).filter((path) => {
      const source = sources.includes(path) ? readFileSync(path, 'utf8') : '';
      return !takenFrom(source).some((name) => [...reads, ...writes].includes(name));
    });
    expect(idle).toEqual([]);
  });
});
