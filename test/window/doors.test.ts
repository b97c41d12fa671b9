import { createServer, request } from 'node:http';
import type { AddressInfo } from 'node:net';
import { join } from 'node:path';
import type { Browser } from 'playwright-core';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { stickwright } from '../fixtures/command.ts';
import { makeScratch } from '../fixtures/volumes/scratch.ts';
import { enter, layDesk, type OpenDesk, openDesk, startBrowser } from '../fixtures/window/open-desk.ts';
import { needs } from '../outside/needs.ts';

const check = needs({ chromium: 'chromium' });

interface Reply {
  readonly status: number;
  readonly headers: Readonly<Record<string, unknown>>;
  readonly body: string;
}

/** As any program of this computer may ask, with whatever headers it likes. */
const askPlainly = (
  origin: string,
  path: string,
  headers: Record<string, string> = {},
  body?: string,
): Promise<Reply> =>
  new Promise((resolve, reject) => {
    const { hostname, port } = new URL(origin);
    const asked = request({ hostname, port, path, method: body === undefined ? 'GET' : 'POST', headers }, (answer) => {
      let text = '';
      answer.on('data', (chunk: Buffer) => (text += chunk.toString()));
      answer.on('end', () => resolve({ status: answer.statusCode ?? 0, headers: answer.headers, body: text }));
    });
    asked.on('error', reject);
    asked.end(body);
  });

describe('nobody else gets into the window', () => {
  const scratch = makeScratch();
  let browser: Browser;
  let desk: OpenDesk;
  beforeAll(async () => {
    desk = await openDesk(await layDesk(scratch, { sticks: 1 }));
    browser = await startBrowser();
  });
  afterAll(async () => {
    await browser?.close();
    await desk?.end();
    scratch.undo();
  });

  it('without cookie and token: nothing is read and nothing changed', async () => {
    for (const path of ['/api/desk', '/api/events', '/api/slip', '/api/set-up/settings'])
      expect((await askPlainly(desk.origin, path)).status, path).toBe(403);
    expect((await askPlainly(desk.origin, '/api/prepare', {}, '{}')).status).toBe(403);
  });

  it('under another name than our own, as when a name is bound to this address anew', async () => {
    const { port } = new URL(desk.origin);
    expect((await askPlainly(desk.origin, '/', { host: `desk.example:${port}` })).status).toBe(403);
    expect((await askPlainly(desk.origin, '/', { host: '127.0.0.1:1' })).status).toBe(403);
    expect((await askPlainly(desk.origin, '/')).status).toBe(200);
  });

  it('is not opened a second time at its port: the other is told so, with exit code 2', () => {
    const raised = process.getuid?.() === 0 ? ['--raised'] : [];
    const words = ['desk', '--no-open', '--port', new URL(desk.origin).port, ...raised];
    const { exitCode, stderr } = stickwright(words);
    expect([exitCode, stderr]).toEqual([2, expect.stringContaining('is served at port')]);
  });

  it('serves nothing but the page', async () => {
    for (const path of [
      '/../package.json',
      '/%2e%2e/package.json',
      '/parts',
      '/page.js.br',
      '/main.tsx',
      '//etc/passwd',
    ])
      expect((await askPlainly(desk.origin, path)).status, path).toBe(404);
    const { headers } = await askPlainly(desk.origin, '/');
    expect(headers['content-security-policy']).toContain("frame-ancestors 'none'");
    expect(headers['content-security-policy']).not.toContain('unsafe-inline');
  });

  check('from another page of the same host: not with its cookie, not by its origin, not in a frame', async () => {
    const context = await browser.newContext();
    const page = await enter(context, desk);
    // The secret is used up: nobody who reads it over a shoulder comes in with it.
    const secret = new URL(desk.address).hash.slice(1);
    expect((await askPlainly(desk.origin, '/enter', {}, JSON.stringify({ secret }))).status).toBe(403);
    expect(page.url()).not.toContain(secret);
    let cookie = '';
    const stranger = createServer((asked, answer) => {
      cookie = asked.headers.cookie ?? '';
      answer.setHeader('content-type', 'text/html');
      answer.end(`<iframe src="${desk.origin}/"></iframe>`);
    }).listen(0, '127.0.0.1');
    try {
      const other = await context.newPage();
      await other.goto(`http://127.0.0.1:${(stranger.address() as AddressInfo).port}/`);
      // Cookies ignore ports (RFC 6265, section 8.5): the stranger has ours, and it opens nothing.
      expect(cookie).toContain('stickwright-desk=');
      expect((await askPlainly(desk.origin, '/api/desk', { cookie })).status).toBe(403);
      const fromThere = await other.evaluate(`Promise.all(['/api/desk', '/', '/enter'].map((path) =>
        fetch('${desk.origin}' + path, { credentials: 'include', method: path === '/enter' ? 'POST' : 'GET' })
          .then(({ status }) => status, () => 0)))`);
      expect(fromThere).toEqual([0, 0, 0]);
      expect(await other.frames()[1]?.content()).not.toContain('Job slip');
    } finally {
      stranger.close();
    }
  });

  check('names nothing that it was not shown', async () => {
    const page = await (await browser.newContext()).newPage();
    const again = await openDesk({ ...(await laid()), sticks: [...desk.sticks] });
    try {
      await page.goto(again.address);
      await page.getByRole('heading', { name: 'Job slip' }).waitFor();
      const order = { mode: 'in-os', label: 'K2-second 75/5B', targets: [desk.sticks[0]] };
      const tries = [
        { ...order, archivePath: '/etc/passwd' },
        { ...order, archivePath: '/etc/passwd', targets: ['/dev/sda'] },
        { archivePath: 7 },
      ];
      const statuses = await page.evaluate(`Promise.all(${JSON.stringify(tries)}.map((body) =>
        fetch('/api/prepare', {
          method: 'POST',
          headers: { 'x-desk-token': localStorage.getItem('stickwright-token') },
          body: JSON.stringify(body),
        }).then(({ status }) => status)))`);
      expect(statuses).toEqual([409, 409, 400]);
    } finally {
      await again.end();
    }
  });

  const laid = async () => ({ home: join(scratch.path, 'home'), shelf: desk.shelf, sticks: desk.sticks });
});
