import { createHash } from 'node:crypto';
import { readFileSync } from 'node:fs';
import type { Browser } from 'playwright-core';
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
  writeLabel,
} from '../fixtures/window/open-desk.ts';
import { needs } from '../outside/needs.ts';

const check = needs({ chromium: 'chromium' });
const digest = (path: string): string => createHash('sha256').update(readFileSync(path)).digest('hex');

describe('the first stick through the window', () => {
  const scratch = makeScratch();
  let browser: Browser;
  let desk: OpenDesk;
  beforeAll(async () => {
    desk = await openDesk(await layDesk(scratch));
    browser = await startBrowser();
  });
  afterAll(async () => {
    await browser?.close();
    await desk?.end();
    scratch.undo();
  });

  check('goes from the label to a stick that the command line calls ready', async () => {
    const [stick = ''] = desk.sticks;
    const before = digest(stick);
    const page = await enter(await browser.newContext(), desk);
    expect(await faults(page)).toEqual([]);
    await writeLabel(page, 'K2-second 75/5B');
    await sayItRuns(page);
    await choosePackage(page, /reed\.1717_5B_second_K2\.zip/);
    await tickSticks(page, /stick-1\.img/);
    await showPlan(page);
    const agreement = page.getByRole('form', { name: 'Agreement' });
    await agreement.waitFor();
    // Nothing is touched before somebody agreed; and a command line sees that the window holds the stick.
    expect(digest(stick)).toBe(before);
    expect(stickwright(['verify', stick]).stderr).toContain('stick/in-use');
    expect(await page.getByRole('table').textContent()).toContain('reed.1717_5B_second_K2.zip');
    expect(await faults(page)).toEqual([]);
    await agreement.getByRole('button', { name: 'Write as shown' }).click();
    await page.getByRole('img', { name: 'READY', exact: true }).waitFor();
    expect(await faults(page)).toEqual([]);
    const code = await page.locator('.stick-code b').first().textContent();
    const verified = stickwright(['verify', stick, '--label', 'K2-second 75/5B', '--mode', 'in-os']);
    expect(verified.exitCode).toBe(0);
    expect(verified.stdout).toContain(code);
  });
});
