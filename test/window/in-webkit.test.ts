import { once } from 'node:events';
import { createServer } from 'node:http';
import type { AddressInfo } from 'node:net';
import { By, until, type WebDriver } from 'selenium-webdriver';
import { afterAll, beforeAll, describe, expect } from 'vitest';
import { stickwright } from '../fixtures/command.ts';
import { makeScratch } from '../fixtures/volumes/scratch.ts';
import { startWebKit, type WebKit, webkitPrograms } from '../fixtures/webkit.ts';
import { layDesk, type OpenDesk, openDesk } from '../fixtures/window/open-desk.ts';
import { needs } from '../outside/needs.ts';

const check = needs(webkitPrograms);
const label = 'K2-second 75/5B';
const mostMs = 60_000;

describe('the window in WebKit, by WebDriver', { timeout: 300_000 }, () => {
  const scratch = makeScratch();
  let webkit: WebKit;
  let desk: OpenDesk;
  let page: WebDriver;
  beforeAll(async () => {
    desk = await openDesk(await layDesk(scratch, { sticks: 1 }));
    webkit = await startWebKit();
    page = webkit.driver;
    await page.manage().window().setRect({ width: 1280, height: 1000 });
    await page.get(desk.address);
  }, 300_000);
  afterAll(async () => {
    await webkit?.end();
    await desk?.end();
    scratch.undo();
  });

  const at = async (selector: string) => {
    const found = await page.wait(until.elementLocated(By.css(selector)), mostMs, selector);
    return await page.wait(until.elementIsVisible(found), mostMs, selector);
  };
  const press = async (selector: string): Promise<void> => (await at(selector)).click();
  const pressNamed = async (name: string): Promise<void> => {
    const button = By.xpath(`//button[normalize-space()="${name}"]`);
    await (await page.wait(until.elementLocated(button), mostMs, name)).click();
  };

  check('the first stick, from the label to one that the command line calls ready', async () => {
    await (await at('input.plate')).sendKeys(label);
    await (await at('input.plate.second')).sendKeys(label);
    await pressNamed('Go on');
    await press('input[name="way.starts"][value="yes"]');
    await press('input[name="way.air"][value="cannot"]');
    await press('input[name="way.settings"][value="yes"]');
    await (await at('.line-entry input')).sendKeys('reed.746');
    await pressNamed('Go on');
    await press('input[name="package"][value$="reed.1717_5B_second_K2.zip"]');
    await pressNamed('Go on');
    await press('input[name="stick"]');
    await pressNamed('Go on');
    await pressNamed('Show exactly what would be written');
    await pressNamed('Write as shown');
    const code = await (await at('.stick-code b')).getText();
    const verified = stickwright(['verify', desk.sticks[0] ?? '', '--label', label, '--mode', 'in-os']);
    expect(verified.exitCode).toBe(0);
    expect(verified.stdout).toContain(code);
  });

  check('no sheet is wider than the screen, and none has a fault to say', async () => {
    for (const width of [500, 1280]) {
      await page.manage().window().setRect({ width, height: 1000 });
      for (const sheet of ['slip', 'sticks', 'shelf', 'families', 'round', 'desk']) {
        await page.executeScript(`location.hash = ${JSON.stringify(sheet)}`);
        await at(`nav a[href="#${sheet}"][aria-current="page"]`);
        await at('main h1');
        const [wide, screen, notices] = await page.executeScript<[number, number, string]>(
          'return [document.documentElement.scrollWidth, innerWidth, document.querySelector(".notices").innerText]',
        );
        expect([sheet, width, wide <= screen, notices]).toEqual([sheet, width, true, '']);
      }
    }
  });

  check('a page of the same host and another port gets nothing, and shows nothing', async () => {
    const stranger = createServer((_, answer) => {
      answer.setHeader('content-type', 'text/html');
      answer.end(`<iframe src="${desk.origin}/"></iframe>`);
    }).listen(0, '127.0.0.1');
    await once(stranger, 'listening');
    try {
      await page.get(`http://127.0.0.1:${(stranger.address() as AddressInfo).port}/`);
      const statuses = await page.executeAsyncScript(`const done = arguments[arguments.length - 1];
        Promise.all(['/api/desk', '/', '/enter'].map((path) =>
          fetch('${desk.origin}' + path, { credentials: 'include', method: path === '/enter' ? 'POST' : 'GET' })
            .then(({ status }) => status, () => 0))).then(done)`);
      expect(statuses).toEqual([0, 0, 0]);
      await page.switchTo().frame(0);
      expect(await page.executeScript('return document.body?.innerText ?? ""')).not.toContain('Job slip');
    } finally {
      stranger.close();
    }
  });

  check('the address is good once: another browser does not come in with it', async () => {
    const other = await startWebKit();
    try {
      await other.driver.get(desk.address);
      const heading = await other.driver.wait(until.elementLocated(By.css('main h1')), mostMs);
      expect(await heading.getText()).toContain('This window does not belong to the desk');
    } finally {
      await other.end();
    }
  });
});
