import { chmod, mkdtemp, readdir, rm, writeFile } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, beforeAll, describe, expect, it, test } from 'vitest';
import { browserPlaces, findBrowser, printPage } from '../../../src/io/cards/print-page.ts';

let folder = '';
/** A program that stands for a browser: it notes its words, and does as the rest of the script says. */
async function program(name: string, script: string): Promise<string> {
  const path = join(folder, name);
  await writeFile(path, `#!/bin/sh\nprintf '%s\\n' "$@" > '${path}.words'\n${script}\n`);
  await chmod(path, 0o755);
  return path;
}

beforeAll(async () => {
  folder = await mkdtemp(join(tmpdir(), 'stickwright-browser-'));
  // Its own, so that no other test's profiles are counted.
  process.env.TMPDIR = folder;
  await program('google-chrome', 'exit 0');
});
afterAll(() => rm(folder, { recursive: true, force: true }));

describe('finding a browser', () => {
  it('takes the one that STICKWRIGHT_BROWSER names by its full path', () => {
    const path = join(folder, 'google-chrome');
    expect(findBrowser({ STICKWRIGHT_BROWSER: path }, 'linux')).toBe(path);
  });

  test('tries full paths alone, whatever the search path says', { tags: ['nobody-else'] }, () => {
    const usual = browserPlaces({ PATH: folder, HOME: '/home/mk' }, 'linux');
    expect(usual).toContain('/usr/bin/chromium');
    expect(usual.filter((path) => !path.startsWith('/') || path.startsWith(folder))).toEqual([]);
    expect(browserPlaces({ STICKWRIGHT_BROWSER: 'vivid', PATH: `.:${folder}` }, 'linux')).toContain('/usr/bin/vivid');
    for (const relative of [
      './chrome',
      'bin/chrome',
      '.\\chrome.exe',
      'E:chrome.exe',
      '\\chrome.exe',
      '\\\\desk\\chrome.exe',
    ])
      for (const platform of ['linux', 'win32'] as const)
        expect([relative, browserPlaces({ STICKWRIGHT_BROWSER: relative, PATH: folder }, platform)]).toEqual([
          relative,
          [],
        ]);
    const windows = { PROGRAMFILES: 'C:\\Program Files', 'ProgramFiles(x86)': '\\x86', LocalAppData: 'AppData' };
    expect(browserPlaces(windows, 'win32')).toEqual([
      'C:\\Program Files\\Google\\Chrome\\Application\\chrome.exe',
      'C:\\Program Files\\Microsoft\\Edge\\Application\\msedge.exe',
      'C:\\Program Files\\Chromium\\Application\\chrome.exe',
    ]);
    expect(browserPlaces({ HOME: '.' }, 'darwin').every((path) => path.startsWith('/Applications/'))).toBe(true);
    expect(browserPlaces({ HOME: '/Users/mk' }, 'darwin').at(-1)).toMatch(/^\/Users\/mk\/Applications\//);
  });

  it('says what to do where there is none', () => {
    const failing = (environment: Record<string, string>, platform: NodeJS.Platform): unknown => {
      try {
        return findBrowser(environment, platform);
      } catch (error) {
        return error;
      }
    };
    for (const platform of ['darwin', 'win32'] as const) {
      expect(failing({ PATH: '/nowhere', HOME: '/nowhere' }, platform)).toMatchObject({
        code: 'cards/no-browser',
        todo: expect.stringContaining('Open the HTML files'),
      });
    }
    for (const named of ['/nowhere/x', './x', 'no-such-browser'])
      expect(failing({ STICKWRIGHT_BROWSER: named, PATH: folder }, 'linux')).toMatchObject({
        code: 'cards/no-browser',
        subject: named,
        todo: expect.stringContaining('full path'),
      });
  });
});

describe('printing a page', () => {
  const leftovers = async () => (await readdir(tmpdir())).filter((name) => name.startsWith('stickwright-print-'));

  it('says what the browser said where it makes no PDF, and leaves no profile behind', async () => {
    const before = await leftovers();
    const path = await program('broken', 'echo "cannot open display" >&2; exit 1');
    await expect(printPage(path, join(folder, 'x.html'))).rejects.toMatchObject({
      code: 'cards/no-browser',
      message: expect.stringContaining('cannot open display'),
    });
    await expect(printPage(join(folder, 'missing'), join(folder, 'x.html'))).rejects.toMatchObject({
      code: 'cards/no-browser',
    });
    expect((await leftovers()).filter((name) => !before.includes(name))).toEqual([]);
  });

  it('stops when the person does', async () => {
    const path = await program('slow', 'exec sleep 60');
    const stop = new AbortController();
    setTimeout(() => stop.abort(new Error('interrupted by SIGINT')), 100);
    await expect(printPage(path, join(folder, 'x.html'), stop.signal)).rejects.toThrow('interrupted by SIGINT');
  });
});
