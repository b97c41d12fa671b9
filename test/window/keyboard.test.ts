import type { Browser, Page } from 'playwright-core';
import { afterAll, beforeAll, describe, expect } from 'vitest';
import { stickwright } from '../fixtures/command.ts';
import { makeScratch } from '../fixtures/volumes/scratch.ts';
import {
  choosePackage,
  enter,
  layDesk,
  type OpenDesk,
  openDesk,
  sayItRuns,
  showPlan,
  startBrowser,
  tickSticks,
  turnTo,
  writeLabel,
} from '../fixtures/window/open-desk.ts';
import { needs } from '../outside/needs.ts';

const check = needs({ chromium: 'chromium' });

/** As a browser whose letters are set to twice their size has it; the widths of the style follow it. */
const largeLetters = ['--blink-settings=defaultFontSize=32'];

describe('a person who works by keyboard, or with large letters', () => {
  const scratch = makeScratch();
  let browser: Browser;
  let desk: OpenDesk;
  let page: Page;
  beforeAll(async () => {
    const laid = await layDesk(scratch, { sticks: 2 });
    const round = `${scratch.path}/autumn.round`;
    stickwright(['round', 'plan', 'samples/rooms/quillhaven.csv', '--shelf', laid.shelf, '--round', round], {
      STICKWRIGHT_FAMILIES: 'samples/families',
      STICKWRIGHT_COLUMNS: `${scratch.path}/columns.json`,
    });
    desk = await openDesk(laid, ['--round', round]);
    browser = await startBrowser();
    page = await enter(await browser.newContext(), desk);
  });
  afterAll(async () => {
    await browser?.close();
    await desk?.end();
    scratch.undo();
  });

  /** What has the focus, by its role or its name; BODY is nowhere. */
  const focused = (on = page): Promise<string> =>
    on.evaluate(
      `(document.activeElement?.getAttribute('aria-label') ?? document.activeElement?.textContent ?? '') + ' ' + document.activeElement?.tagName`,
    );

  check('stays where it is when a sheet is turned, and the title says which', async () => {
    for (const name of ['Sticks', 'Shelf', 'Families', 'Round', 'Desk', 'Slip']) {
      await page.getByRole('navigation').first().getByRole('link', { name, exact: true }).focus();
      await page.keyboard.press('Enter');
      await expect.poll(() => page.title()).toBe(`${name}: stickwright desk`);
      expect(await focused()).toBe(`${name} A`);
    }
  });

  check('is taken to what comes in the place of a button that goes', async () => {
    await writeLabel(page, 'K2-second 75/5B');
    await sayItRuns(page);
    await choosePackage(page, /reed\.1717_5B_second_K2\.zip/);
    await tickSticks(page, /stick-1\.img/);
    await showPlan(page);
    await page.getByRole('form', { name: 'Agreement' }).waitFor();
    await expect.poll(focused).toBe('What would be written SECTION');
    const status = page.getByRole('banner').getByRole('status');
    expect(await status.textContent()).toMatch(/, asks you$/);
    await page.getByRole('button', { name: 'Write as shown' }).focus();
    await page.keyboard.press('Enter');
    await page.locator('.stick-code').waitFor();
    await expect.poll(focused).toBe('What became of it SECTION');
    await turnTo(page, 'Sticks');
    const tag = page.locator('.stick-tag').nth(1);
    await tag.locator('summary', { hasText: 'Format' }).click();
    await tag
      .getByRole('form', { name: /^Format/ })
      .getByRole('button')
      .focus();
    await page.keyboard.press('Enter');
    await page.getByRole('form', { name: 'Agreement' }).waitFor();
    await expect.poll(focused).toBe('Agreement FORM');
  });

  check('letters of twice the size: no sheet is wider than the screen, and no label of a room is cut off', async () => {
    const state = await page.context().storageState();
    const large = await startBrowser(largeLetters);
    try {
      const wide = await (
        await large.newContext({ storageState: state, viewport: { width: 390, height: 900 } })
      ).newPage();
      await wide.goto(desk.origin);
      for (const sheet of ['Slip', 'Sticks', 'Shelf', 'Families', 'Desk', 'Round']) {
        await turnTo(wide, sheet);
        await wide.waitForTimeout(300);
        expect(await wide.evaluate('document.documentElement.scrollWidth'), sheet).toBeLessThanOrEqual(390);
      }
      const leaves = wide.getByRole('navigation', { name: 'Leaves of the round' });
      for (const leaf of ['List', 'Plan', 'Sticks', 'Paper', 'Results']) {
        await leaves.getByRole('link', { name: leaf }).click();
        if (leaf === 'Plan') await wide.getByRole('table', { name: 'The order of the sticks' }).waitFor();
        await wide.waitForTimeout(300);
        expect(await wide.evaluate('document.documentElement.scrollWidth'), leaf).toBeLessThanOrEqual(390);
      }
      for (const width of [390, 1280]) {
        await wide.setViewportSize({ width, height: 900 });
        await page.setViewportSize({ width, height: 900 });
        await turnTo(page, 'Round');
        await page.getByRole('navigation', { name: 'Leaves of the round' }).getByRole('link', { name: 'Plan' }).click();
        await leaves.getByRole('link', { name: 'Plan' }).click();
        for (const one of [wide, page]) expect(await cutOff(one), `${width}`).toEqual([]);
      }
    } finally {
      await large.close();
    }
  });

  async function cutOff(on: Page): Promise<readonly string[]> {
    await on.locator('.roll-label').first().waitFor();
    return await on.evaluate(`[...document.querySelectorAll('.roll-room, .roll-label')]
      .filter((one) => one.clientWidth === 0 || one.scrollWidth > one.clientWidth || one.scrollHeight > one.clientHeight + 3)
      .map(({ textContent }) => textContent)`);
  }
});
