import { basename } from 'node:path';
import { setTimeout as wait } from 'node:timers/promises';
import type { Browser, Page } from 'playwright-core';
import { afterAll, beforeAll, describe, expect } from 'vitest';
import { stickwright } from '../fixtures/command.ts';
import { canMount } from '../fixtures/volumes/mounts.ts';
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
import { type SlowStick, slowStick, slowStickNeeds } from '../fixtures/window/slow-stick.ts';
import { itWithout, needs } from '../outside/needs.ts';

const programs = needs({ chromium: 'chromium', ...slowStickNeeds });
const check = canMount ? programs : itWithout('the right to mount (root)');
const label = 'K2-second 75/5B';
const fits = /reed\.1717_5B_second_K2\.zip/;

describe('work that does not come to its end at once', { timeout: 300_000 }, () => {
  const scratch = makeScratch();
  let browser: Browser;
  let desk: OpenDesk;
  let laid: Awaited<ReturnType<typeof layDesk>>;
  let slow: readonly SlowStick[] = [];
  let page: Page;
  beforeAll(async () => {
    laid = await layDesk(scratch, { sticks: 6, bytes: 400_000 });
    const images = laid.sticks.slice(3);
    if (canMount) slow = await Promise.all(images.map((image) => slowStick(scratch, image)));
    laid = { ...laid, sticks: [...laid.sticks.slice(0, 3), ...slow.map(({ path }) => path)] };
    desk = await openDesk(laid);
    browser = await startBrowser();
  }, 300_000);
  afterAll(async () => {
    await browser?.close();
    await desk?.end('SIGKILL');
    scratch.undo();
  });

  const fillIn = async (...sticks: readonly RegExp[]): Promise<void> => {
    await writeLabel(page, label);
    await sayItRuns(page);
    await choosePackage(page, fits);
    await tickSticks(page, ...sticks);
  };
  const agree = (): Promise<void> => page.getByRole('button', { name: 'Write as shown' }).click();
  const stamps = async (): Promise<readonly string[]> => (await page.locator('.stamp').allTextContents()).toSorted();
  const verified = (path: string) => stickwright(['verify', path, '--label', label]).exitCode;

  /** The SLOW stick alone, or beside others: agreed to, and in the middle. */
  const begin = async ({ path, hurry, slowDown }: SlowStick, others: readonly RegExp[] = []): Promise<void> => {
    hurry();
    await fillIn(...others, nameOf(path));
    await showPlan(page);
    await page.getByRole('form', { name: 'Agreement' }).waitFor();
    slowDown();
    await agree();
    await meterOf(page, path).waitFor();
  };
  const nameOf = (path: string): RegExp => new RegExp(basename(path).replaceAll('.', '\\.'));
  const meterOf = (where: Page, path: string) => where.getByRole('progressbar', { name: path });
  const the = (at: number): SlowStick => {
    const one = slow[at - 4];
    if (one === undefined) throw new Error(`no slow stick ${at}`);
    return one;
  };

  check('four sticks of which one is pulled in the middle: three are ready, the one says what to do', async () => {
    page = await enter(await browser.newContext(), desk);
    const pulled = the(4);
    await begin(pulled, [/stick-1\.img/, /stick-2\.img/, /stick-3\.img/]);
    expect(await faults(page)).toEqual([]);
    await pulled.pull();
    await page.locator('.stick-code').nth(2).waitFor();
    expect(await stamps()).toEqual(['NOT READY', 'READY', 'READY', 'READY']);
    expect(await faults(page)).toEqual([]);
    for (const path of laid.sticks.slice(0, 3)) expect(verified(path), path).toBe(0);
    // Plugged in again, the same slip finishes it; the three that are right already are only read.
    await pulled.plugInAgain();
    pulled.hurry();
    expect(verified(pulled.path)).toBe(1);
    await showPlan(page);
    await agree();
    await page.locator('.stick-code').nth(3).waitFor();
    // What FUSE shows is not read around the system's memory; that much stays open of the one.
    expect(await stamps()).toEqual(['READY', 'READY', 'READY', 'UNPROVEN']);
    expect(verified(pulled.path)).not.toBe(1);
  });

  check('reloaded, opened twice, and the desk killed: nothing is lost, and the same job finishes', async () => {
    await page.getByRole('button', { name: 'Take a new slip' }).click();
    await begin(the(5));
    // However late what is kept of the slip comes: no empty one is shown meanwhile, to be written on in its place.
    await page.route('**/api/slip', (route) => wait(1000).then(() => route.continue()), { times: 1 });
    await page.reload();
    expect(await page.locator('.entry').first().textContent()).toContain(label);
    await meterOf(page, the(5).path).waitFor();
    const other = await page.context().newPage();
    await other.goto(desk.origin);
    await meterOf(other, the(5).path).waitFor();
    expect(await other.locator('.entry').first().textContent()).toContain(label);
    await desk.end('SIGKILL');
    for (const one of [page, other]) await one.getByText('The desk has stopped.').waitFor();
    await other.close();
    the(5).hurry();
    // What was at work notices that its desk is gone; until it has come to a clean place it holds the stick.
    await expect.poll(() => verified(the(5).path)).toBe(1);
    desk = await openDesk(laid);
    page = await enter(page.context(), desk);
    expect(await page.locator('.entry').first().textContent()).toContain(label);
    await showPlan(page);
    await agree();
    await page.locator('.stick-code').waitFor();
    expect(verified(the(5).path)).not.toBe(1);
  });

  check('a polite kill stops at a clean place, says so, and the stick is not ready', async () => {
    await page.getByRole('button', { name: 'Take a new slip' }).click();
    await begin(the(6));
    const ended = desk.end('SIGTERM');
    the(6).hurry();
    expect(await ended).toBe(0);
    expect(desk.said()).toContain('It stops at a clean place');
    expect(verified(the(6).path)).toBe(1);
  });
});
