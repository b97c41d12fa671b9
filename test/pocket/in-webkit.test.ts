import { rmSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { pathToFileURL } from 'node:url';
import { By, until, type WebElement } from 'selenium-webdriver';
import { describe, expect } from 'vitest';
import { stickwright } from '../fixtures/command.ts';
import { deskWithPocket } from '../fixtures/phone.ts';
import { startWebKit, webkitPrograms } from '../fixtures/webkit.ts';
import { needs } from '../outside/needs.ts';

const check = needs(webkitPrograms);
const mostMs = 60_000;

describe('the pocket in WebKit, opened from a file', { timeout: 300_000 }, () => {
  check('keeps an entry over a reload, and gives it out as text that the desk takes', async () => {
    const desk = await deskWithPocket();
    const { driver: page, end } = await startWebKit();
    try {
      const find = async (how: By): Promise<WebElement> =>
        await page.wait(until.elementIsVisible(await page.wait(until.elementLocated(how), mostMs)), mostMs);
      const at = (selector: string): Promise<WebElement> => find(By.css(selector));
      const says = (text: string): Promise<WebElement> => find(By.xpath(`//*[contains(text(), "${text}")]`));
      // The driver presses what it sees, and scrolls no further than to under the bar.
      const tap = async (element: WebElement): Promise<void> => {
        await page.executeScript('arguments[0].scrollIntoView({ block: "center" })', element);
        await element.click();
      };
      const press = async (name: string): Promise<void> =>
        tap(await find(By.xpath(`//button[normalize-space()="${name}"]`)));
      await page.get(pathToFileURL(desk.file).href);
      await says('Entries are kept on this phone at once.');
      await tap(await at('a[href="#room-0"]'));
      await (await at('#stick input.mono')).sendKeys('clyftj');
      await tap(await at('#stick form button'));
      await (await at('#plate input.mono')).sendKeys('K2-second 75/5B');
      await tap(await at('#plate form button'));
      await at('#steps');
      await press('It shows a build');
      await (await at('#outcome textarea')).sendKeys('reed.1717');
      await press('Record');
      await says('Recorded: done, shows reed.1717');
      await page.navigate().refresh();
      await at('#entries');
      await tap(await at('a[href="#out"]'));
      const pasted = join(desk.folder, 'pasted.txt');
      writeFileSync(pasted, (await (await at('textarea')).getAttribute('value')) ?? '');
      const { stdout } = stickwright(['round', 'merge', pasted, '--round', desk.place]);
      expect(stdout).toContain('MERGED: 1 new line.');
    } finally {
      await end();
      rmSync(desk.folder, { recursive: true, force: true, maxRetries: 5 });
    }
  });
});
