import { chmod, mkdtemp, readdir, rm, writeFile } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { findBrowser } from '../../../src/io/cards/find-browser.ts';
import { printPage } from '../../../src/io/cards/print-page.ts';

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
  it('takes the one that STICKWRIGHT_BROWSER names, by path or by name', async () => {
    const path = join(folder, 'google-chrome');
    expect(await findBrowser({ STICKWRIGHT_BROWSER: path }, 'linux')).toBe(path);
    expect(await findBrowser({ STICKWRIGHT_BROWSER: 'google-chrome', PATH: folder }, 'linux')).toBe(path);
    expect(await findBrowser({ PATH: `/nowhere:${folder}` }, 'linux')).toBe(path);
  });

  it('says what to do where there is none', async () => {
    for (const platform of ['linux', 'darwin', 'win32'] as const) {
      await expect(findBrowser({ PATH: '/nowhere', HOME: '/nowhere' }, platform)).rejects.toMatchObject({
        code: 'cards/no-browser',
        todo: expect.stringContaining('Open the HTML files'),
      });
    }
    await expect(findBrowser({ STICKWRIGHT_BROWSER: '/nowhere/x', PATH: folder }, 'linux')).rejects.toMatchObject({
      code: 'cards/no-browser',
      subject: '/nowhere/x',
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
