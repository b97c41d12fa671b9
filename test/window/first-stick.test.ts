import { createHash } from 'node:crypto';
import { readFileSync } from 'node:fs';
import type { Browser } from 'playwright-core';
import { afterAll, beforeAll, describe, expect } from 'vitest';
import { stickwright } from '../fixtures/command.ts';
import { makeScratch } from '../fixtures/volumes/scratch.ts';
import {
  enter,
  faults,
  layDesk,
  type OpenDesk,
  openDesk,
  planFirstStick,
  sampleLabel,
  startBrowser,
  writeAsShown,
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
    const agreement = await planFirstStick(page, /stick-1\.img/);
    // Nothing is touched before somebody agreed; and a command line sees that the window holds the stick.
    expect(digest(stick)).toBe(before);
    expect(stickwright(['verify', stick]).stderr).toContain('stick/in-use');
    expect(await page.getByRole('table').textContent()).toContain('reed.1717_5B_second_K2.zip');
    expect(await faults(page)).toEqual([]);
    const code = await writeAsShown(page, agreement);
    expect(await faults(page)).toEqual([]);
    const verified = stickwright(['verify', stick, '--label', sampleLabel, '--mode', 'in-os']);
    expect(verified.exitCode).toBe(0);
    expect(verified.stdout).toContain(code);
  });
});
