import { chmodSync, existsSync, readFileSync, statSync } from 'node:fs';
import { join } from 'node:path';
import type { Browser, Page } from 'playwright-core';
import { afterAll, beforeAll, describe, expect } from 'vitest';
import { stickwright } from '../fixtures/command.ts';
import { makeScratch } from '../fixtures/volumes/scratch.ts';
import {
  choosePackage,
  enter,
  faults,
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
const label = 'K2-second 75/5B';

describe("the desk's key, in the window", () => {
  const scratch = makeScratch();
  let browser: Browser;
  let desk: OpenDesk;
  let page: Page;
  let folder = '';
  beforeAll(async () => {
    const laid = await layDesk(scratch, { sticks: 1 });
    folder = join(laid.home, 'config', 'stickwright', 'seal');
    desk = await openDesk(laid);
    browser = await startBrowser();
    page = await enter(await browser.newContext(), desk);
  });
  afterAll(async () => {
    await browser?.close();
    await desk?.end();
    scratch.undo();
  });

  const environment = () => ({ XDG_CONFIG_HOME: join(scratch.path, 'home', 'config') });
  const seal = () => page.getByRole('region', { name: 'Seal' });

  check(
    'is made as the command makes it, shown as the command shows it, and seals what is written from then on',
    async () => {
      await turnTo(page, 'Desk');
      expect(existsSync(folder)).toBe(false);
      await seal().getByRole('button', { name: 'Make the key of this desk' }).focus();
      expect(await faults(page)).toEqual([]);
      await page.keyboard.press('Enter');
      await seal().getByText('✓ Made a key for this desk.').waitFor();
      expect(statSync(join(folder, 'desk.key')).mode & 0o777).toBe(0o600);
      const shown = stickwright(['seal', 'show'], environment()).stdout;
      for (const fact of (await seal().locator('td').allTextContents()).values()) expect(shown).toContain(fact);
      expect(await seal().locator('td').count()).toBe(3);
      const row = page.locator('.here tr').filter({ has: page.getByRole('rowheader', { name: 'Seal' }) });
      await row.getByText('ok').waitFor();
      expect(await faults(page)).toEqual([]);

      await turnTo(page, 'Slip');
      await writeLabel(page, label);
      await sayItRuns(page);
      await choosePackage(page, /reed\.1717_5B_second_K2\.zip/);
      await tickSticks(page, /stick-1\.img/);
      await showPlan(page);
      await page.getByRole('button', { name: 'Write as shown' }).click();
      await page.locator('.stick-code').waitFor();
      const [stick = ''] = desk.sticks;
      const by = (key: string) => stickwright(['verify', stick, '--label', label, '--seal-from', join(folder, key)]);
      expect(by('desk.pub').stdout).toContain('[verify/sealed]');
    },
  );

  check('is never overwritten, also where two pages ask at once, and one that others may read is said', async () => {
    const before = readFileSync(join(folder, 'desk.key'), 'utf8');
    await turnTo(page, 'Desk');
    await seal().locator('td').first().waitFor();
    expect(await seal().getByRole('button').count()).toBe(0);
    const status = await page.evaluate(
      `fetch('/api/set-up/seal', { method: 'POST', body: '{}', headers: { 'x-desk-token': localStorage['stickwright-token'] } }).then(async (answer) => [answer.status, (await answer.json()).refused])`,
    );
    expect(status).toEqual([409, expect.stringContaining('a key is never overwritten')]);
    expect(readFileSync(join(folder, 'desk.key'), 'utf8')).toBe(before);
    chmodSync(join(folder, 'desk.key'), 0o644);
    await page.reload();
    await seal().getByText("the desk's key can be read by other accounts").waitFor();
    expect(await page.locator('.notices').textContent()).toBe('');
    expect(await faults(page)).toEqual([]);
  });
});
