import { createServer } from 'node:http';
import type { AddressInfo } from 'node:net';
import puppeteer, { type Browser, type Page } from 'puppeteer-core';
import { afterAll, beforeAll, describe, expect } from 'vitest';
import { stickwright } from '../fixtures/command.ts';
import { makeScratch } from '../fixtures/volumes/scratch.ts';
import { layDesk, type OpenDesk, openDesk } from '../fixtures/window/open-desk.ts';
import { needs } from '../outside/needs.ts';

const check = needs({ 'firefox-esr': 'firefox-esr' });
const label = 'K2-second 75/5B';

describe('the window in Firefox, by WebDriver BiDi', { timeout: 300_000 }, () => {
  const scratch = makeScratch();
  let browser: Browser;
  let desk: OpenDesk;
  let page: Page;
  beforeAll(async () => {
    desk = await openDesk(await layDesk(scratch, { sticks: 1 }));
    browser = await puppeteer.launch({
      browser: 'firefox',
      executablePath: '/usr/bin/firefox-esr',
      protocolTimeout: 240_000,
      timeout: 240_000,
    });
    page = await browser.newPage();
    page.setDefaultTimeout(120_000);
    await page.goto(desk.address);
  }, 300_000);
  afterAll(async () => {
    await browser?.close();
    await desk?.end();
    scratch.undo();
  });

  const press = (selector: string): Promise<void> => page.locator(selector).click();
  const pressNamed = (name: string): Promise<void> => press(`::-p-aria([name="${name}"][role="button"])`);
  const shows = (text: string) => page.locator(`::-p-text(${text})`).wait();

  check('the first stick, from the label to one that the command line calls ready', async () => {
    await shows('Job slip');
    await page.locator('input.plate').fill(label);
    await page.locator('input.plate.second').fill(label);
    await pressNamed('Go on');
    await press('input[name="way.starts"][value="yes"]');
    await press('input[name="way.air"][value="cannot"]');
    await press('input[name="way.settings"][value="yes"]');
    await page.locator('.line-entry input').fill('reed.746');
    await pressNamed('Go on');
    await press('input[name="package"][value$="reed.1717_5B_second_K2.zip"]');
    await pressNamed('Go on');
    await press('input[name="stick"]');
    await pressNamed('Go on');
    await pressNamed('Show exactly what would be written');
    await pressNamed('Write as shown');
    const code = await page
      .locator('.stick-code b')
      .map(({ textContent }) => textContent ?? '')
      .wait();
    const verified = stickwright(['verify', desk.sticks[0] ?? '', '--label', label, '--mode', 'in-os']);
    expect(verified.exitCode).toBe(0);
    expect(verified.stdout).toContain(code);
  });

  check('a page of the same host and another port gets nothing, shows nothing, and changes nothing', async () => {
    let cookie = '';
    const stranger = createServer((asked, answer) => {
      cookie ||= asked.headers.cookie ?? '';
      answer.setHeader('content-type', 'text/html');
      answer.end(`<iframe src="${desk.origin}/"></iframe>`);
    }).listen(0, '127.0.0.1');
    try {
      const other = await browser.newPage();
      await other.goto(`http://127.0.0.1:${(stranger.address() as AddressInfo).port}/`);
      expect(cookie).toContain('stickwright-desk=');
      const answers = await other.evaluate(`Promise.all(['/api/desk', '/', '/enter'].map((path) =>
        fetch('${desk.origin}' + path, { credentials: 'include', method: path === '/enter' ? 'POST' : 'GET' })
          .then(({ status }) => status, () => 0)))`);
      expect(answers).toEqual([0, 0, 0]);
      const framed = other.frames().at(-1);
      expect(framed === undefined ? '' : await framed.content().catch(() => '')).not.toContain('Job slip');
      await other.close();
    } finally {
      stranger.close();
    }
  });

  check('the address is good once: another browser does not come in with it', async () => {
    const context = await browser.createBrowserContext();
    const stranger = await context.newPage();
    await stranger.goto(desk.address);
    await stranger.locator('::-p-text(This window does not belong to the desk)').wait();
    await context.close();
  });
});
