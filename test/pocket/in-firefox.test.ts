import { rmSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { pathToFileURL } from 'node:url';
import puppeteer from 'puppeteer-core';
import { describe, expect } from 'vitest';
import { stickwright } from '../fixtures/command.ts';
import { deskWithPocket } from '../fixtures/phone.ts';
import { needs } from '../outside/needs.ts';

const check = needs({ 'firefox-esr': 'firefox-esr' });

describe('the pocket in Firefox, opened from a file', { timeout: 300_000 }, () => {
  check('keeps an entry over a reload, and gives it out as text that the desk takes', async () => {
    const desk = await deskWithPocket();
    const browser = await puppeteer.launch({
      browser: 'firefox',
      executablePath: '/usr/bin/firefox-esr',
      protocolTimeout: 240_000,
      timeout: 240_000,
    });
    try {
      const page = await browser.newPage();
      page.setDefaultTimeout(120_000);
      await page.setViewport({ width: 360, height: 740 });
      await page.goto(pathToFileURL(desk.file).href);
      const press = (name: string): Promise<void> => page.locator(`::-p-aria([name="${name}"][role="button"])`).click();
      await page.locator('::-p-text(Entries are kept on this phone at once.)').wait();
      await page.locator('a[href="#room-0"]').click();
      await page.locator('#stick input.mono').fill('clyftj');
      await page.locator('#stick form button').click();
      await page.locator('#plate input.mono').fill('K2-second 75/5B');
      await page.locator('#plate form button').click();
      await page.locator('#steps').wait();
      await press('It shows a build');
      await page.locator('#outcome textarea').fill('reed.1717');
      await press('Record');
      await page.locator('::-p-text(Recorded: done, shows reed.1717)').wait();
      await page.reload();
      await page.locator('#entries').wait();
      await page.locator('a[href="#out"]').click();
      const text = await page
        .locator('textarea')
        .map((field) => (field as unknown as { readonly value: string }).value)
        .wait();
      const pasted = join(desk.folder, 'pasted.txt');
      writeFileSync(pasted, text);
      const { stdout } = stickwright(['round', 'merge', pasted, '--round', desk.place]);
      expect(stdout).toContain('MERGED: 1 new line.');
    } finally {
      await browser.close();
      rmSync(desk.folder, { recursive: true, force: true, maxRetries: 5 });
    }
  });
});
