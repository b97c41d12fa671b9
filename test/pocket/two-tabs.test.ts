import { rmSync } from 'node:fs';
import { join } from 'node:path';
import type { Page } from 'playwright-core';
import { describe, expect } from 'vitest';
import { stickwright } from '../fixtures/command.ts';
import { deskWithPocket, openPhone } from '../fixtures/phone.ts';
import { needs } from '../outside/needs.ts';

const inBrowser = needs({ chromium: 'chromium' });

/** Up to the last tap. */
async function writeSkip(page: Page, room: number, why: string): Promise<void> {
  await page.evaluate(`location.hash = '#rooms'`);
  await page.locator(`a[href="#room-${room}"]`).first().tap();
  await page.locator('#outcome').getByRole('button', { name: 'Skipped' }).tap();
  await page.getByLabel('Why was nothing done?').fill(why);
}

const record = (page: Page): Promise<void> => page.getByRole('button', { name: 'Record', exact: true }).tap();

/** Waits in the page itself, so that both tap within the same thousandth of a second. */
const recordAt = (page: Page, atMs: number): Promise<unknown> =>
  page.evaluate(`new Promise((tapped) => setTimeout(() => {
    while (Date.now() < ${atMs});
    document.querySelector('#outcome button.main').click();
    tapped(0);
  }, ${atMs} - Date.now() - 50))`);

describe('two tabs with one file', { timeout: 200_000 }, () => {
  inBrowser('lose no entry of either, in turns and at one moment, and the desk finds all of them whole', async () => {
    const desk = await deskWithPocket();
    const { context, page: first, faults } = await openPhone(desk.folder, desk.file);
    const second = await context.newPage();
    await second.goto(first.url());
    const tabs = [first, second] as const;
    for (const [index, page] of [first, second, second, first].entries()) {
      await writeSkip(page, index, `in turn ${index}`);
      await record(page);
      for (const tab of tabs) await tab.getByRole('link', { name: `Give out (${index + 1})` }).waitFor();
    }
    const moments = 5;
    for (let moment = 0; moment < moments; moment++) {
      await Promise.all(tabs.map((page, tab) => writeSkip(page, tab, `moment ${moment}, tab ${tab}`)));
      const atMs = Date.now() + 500;
      await Promise.all(tabs.map((page) => recordAt(page, atMs)));
    }
    const all = 4 + 2 * moments;
    for (const tab of tabs) await tab.getByRole('link', { name: `Give out (${all})` }).waitFor();
    await context.close();

    const again = await openPhone(desk.folder, desk.file);
    await again.page.getByRole('link', { name: `Give out (${all})` }).tap();
    const coming = again.page.waitForEvent('download');
    await again.page.getByRole('button', { name: 'Save the file' }).tap();
    const saved = join(desk.folder, 'saved.txt');
    await (await coming).saveAs(saved);
    await again.context.close();
    const { stdout } = stickwright(['round', 'merge', saved, '--round', desk.place]);
    expect(stdout).toContain(`MERGED: ${all} new lines.`);
    expect(stdout).not.toMatch(/\[pocket\/(torn|edited|foreign|missing)/);
    expect([...faults, ...again.faults]).toEqual([]);
    rmSync(desk.folder, { recursive: true, force: true, maxRetries: 5 });
  });

  inBrowser('erase for each other, and do not bring back what was erased', async () => {
    const desk = await deskWithPocket();
    const { context, page: first } = await openPhone(desk.folder, desk.file);
    const second = await context.newPage();
    await second.goto(first.url());
    await writeSkip(first, 0, 'an exam');
    await record(first);
    await second.getByRole('link', { name: 'Give out (1)' }).waitFor();
    await first.getByRole('link', { name: 'About' }).tap();
    await first.getByRole('button', { name: 'Erase what this phone keeps' }).tap();
    await first.getByRole('button', { name: 'Yes, erase' }).tap();
    await second.getByRole('link', { name: 'Give out (0)' }).waitFor();
    await writeSkip(second, 1, 'a second exam');
    await record(second);
    await first.getByRole('link', { name: 'Give out (1)' }).tap();
    expect(await first.getByLabel('1 entry').inputValue()).not.toContain('an exam');
    await context.close();
    rmSync(desk.folder, { recursive: true, force: true, maxRetries: 5 });
  });
});
