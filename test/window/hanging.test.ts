import { basename } from 'node:path';
import type { Browser, Locator, Page } from 'playwright-core';
import { afterAll, beforeAll, describe, expect } from 'vitest';
import { stickwright } from '../fixtures/command.ts';
import { canMount } from '../fixtures/volumes/mounts.ts';
import { makeScratch } from '../fixtures/volumes/scratch.ts';
import { holdersOf } from '../fixtures/window/holders-of.ts';
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
import { type SlowStick, slowStick, slowStickNeeds } from '../fixtures/window/slow-stick.ts';
import { ctrlC } from '../fixtures/window/terminal-desk.ts';
import { itWithout, needs } from '../outside/needs.ts';

const programs = needs({ chromium: 'chromium', expect: 'expect', ...slowStickNeeds });
const check = canMount ? programs : itWithout('the right to mount (root)');
const label = 'K2-second 75/5B';
const fits = /reed\.1717_5B_second_K2\.zip/;

describe('a stick that hangs, and work that is ended from outside', { timeout: 400_000 }, () => {
  const scratch = makeScratch();
  let browser: Browser;
  let desk: OpenDesk;
  let laid: Awaited<ReturnType<typeof layDesk>>;
  let slow: readonly SlowStick[] = [];
  let page: Page;
  beforeAll(async () => {
    laid = await layDesk(scratch, { sticks: 5, bytes: 400_000 });
    if (canMount) slow = await Promise.all(laid.sticks.slice(2).map((image) => slowStick(scratch, image)));
    laid = { ...laid, sticks: [...laid.sticks.slice(0, 2), ...slow.map(({ path }) => path)] };
    browser = await startBrowser();
    desk = await openDesk(laid);
    page = await enter(await browser.newContext(), desk);
  }, 300_000);
  afterAll(async () => {
    await browser?.close();
    await desk?.end('SIGKILL');
    for (const one of slow) one.answerAgain();
    scratch.undo();
  });

  const the = (at: number): SlowStick => {
    const one = slow[at - 3];
    if (one === undefined) throw new Error(`no slow stick ${at}`);
    return one;
  };
  const verified = (path: string) => stickwright(['verify', path, '--label', label]).exitCode;
  const tag = (path: string): Locator => page.getByRole('article', { name: `Stick ${path}`, exact: true });

  const prepare = async (...sticks: readonly RegExp[]): Promise<void> => {
    await writeLabel(page, label);
    await sayItRuns(page);
    await choosePackage(page, fits);
    await tickSticks(page, ...sticks);
    await showPlan(page);
    await page.getByRole('button', { name: 'Write as shown' }).click();
  };

  /** The slow stick is being written, and there is a middle. */
  const beginSlowly = async ({ path, slowDown, hurry }: SlowStick): Promise<void> => {
    hurry();
    await writeLabel(page, label);
    await sayItRuns(page);
    await choosePackage(page, fits);
    await tickSticks(page, new RegExp(basename(path).replaceAll('.', '\\.')));
    await showPlan(page);
    await page.getByRole('form', { name: 'Agreement' }).waitFor();
    slowDown();
    await page.getByRole('button', { name: 'Write as shown' }).click();
    await page.getByRole('progressbar', { name: path }).waitFor();
  };

  check('one that answers no more: it is named, the page goes on, another is made ready beside it', async () => {
    const { path, slowDown, hang, answerAgain, hurry } = the(3);
    await turnTo(page, 'Sticks');
    await tag(path).locator('summary', { hasText: 'Format' }).click();
    const form = tag(path).getByRole('form', { name: 'Format' });
    await form.getByRole('combobox', { name: 'How the panel' }).selectOption('in-os');
    hurry();
    await form.getByRole('button').click();
    const agreement = tag(path).getByRole('form', { name: 'Agreement' });
    await agreement.getByRole('textbox').fill('64 MiB');
    slowDown();
    await agreement.getByRole('button', { name: 'Erase it' }).click();
    await agreement.waitFor({ state: 'detached' });
    hang();
    // A stick beside it, from the first word to the verdict, while nothing comes of that one.
    await turnTo(page, 'Slip');
    await prepare(/stick-1\.img/);
    await page.getByRole('img', { name: 'READY', exact: true }).waitFor();
    expect(verified(laid.sticks[0] ?? '')).toBe(0);
    await turnTo(page, 'Sticks');
    await tag(path).getByText('gives no sign any more', { exact: false }).waitFor();
    expect(await tag(path).getByRole('status').textContent()).toContain(path);
    expect(await faults(page)).toEqual([]);
    // A page that is opened now sees the same.
    await page.reload();
    await tag(path).getByText('gives no sign any more', { exact: false }).waitFor();
    await tag(path).getByRole('button', { name: 'Stop at a clean place' }).click();
    await tag(path).getByText('Stopping at a clean place').waitFor();
    await tag(path).getByRole('button', { name: 'End it where it stands' }).click();
    await tag(path).getByText('Ended where it stood', { exact: false }).waitFor();
    answerAgain();
    hurry();
    await expect.poll(() => holdersOf(path), { timeout: 60_000 }).toEqual([]);
    expect(verified(path)).not.toBe(0);
    await page.getByRole('button', { name: /^Put away/ }).click();
  });

  check(
    'of two sticks of one piece of work the one that hangs is named; pulled, it lets the other finish',
    async () => {
      const { path, slowDown, hang, hurry, pull } = the(3);
      const [, other = ''] = laid.sticks;
      hurry();
      expect(stickwright(['format', path, '--for', 'in-os', '--yes']).exitCode).toBe(0);
      await turnTo(page, 'Slip');
      await page.getByRole('button', { name: 'Take a new slip' }).click();
      await writeLabel(page, label);
      await sayItRuns(page);
      await choosePackage(page, fits);
      await tickSticks(page, /stick-2\.img/, /stick-3\.img\.slow/);
      await showPlan(page);
      await page.getByRole('form', { name: 'Agreement' }).waitFor();
      slowDown();
      await page.getByRole('button', { name: 'Write as shown' }).click();
      await page.getByRole('progressbar', { name: path }).waitFor();
      hang();
      const said = page.locator('.meters .notice').getByRole('status');
      await said.waitFor();
      expect(await said.textContent()).toContain(`${path} gives no sign any more`);
      expect(await said.textContent()).toContain('The other sticks of this work wait with it, and go on then.');
      expect(await said.textContent()).not.toContain(other);
      expect(await faults(page)).toEqual([]);
      await pull();
      const answer = (target: string): Locator =>
        page.locator('.stick-answer').filter({ has: page.getByRole('heading', { name: target, exact: true }) });
      await answer(other).getByRole('img', { name: 'READY', exact: true }).waitFor();
      expect(verified(other)).toBe(0);
      await answer(path).getByRole('img', { name: 'NOT READY', exact: true }).waitFor();
      expect(await answer(path).locator('.notice').textContent()).not.toBe('');
    },
  );

  check(
    'a process that is killed in the middle: it is said, the stick is not ready, the same job finishes',
    async () => {
      await turnTo(page, 'Slip');
      await page.getByRole('button', { name: 'Take a new slip' }).click();
      const { path, hurry } = the(4);
      await beginSlowly(the(4));
      const [pid, ...others] = holdersOf(path);
      expect(others).toEqual([]);
      process.kill(pid ?? 0, 'SIGKILL');
      await page.getByText(`(process ${pid}) ended by SIGKILL`, { exact: false }).waitFor();
      expect(await page.getByRole('alert').textContent()).toContain('says not ready until');
      expect(await faults(page)).toEqual([]);
      hurry();
      expect(verified(path)).toBe(1);
      await showPlan(page);
      await page.getByRole('button', { name: 'Write as shown' }).click();
      await page.locator('.stick-code').waitFor();
      expect(verified(path)).not.toBe(1);
    },
  );

  check('Ctrl-C while a stick is written asks; no goes on, and again at the question stops', async () => {
    await page.getByRole('button', { name: 'Take a new slip' }).click();
    await desk.end();
    desk = await openDesk(laid, [], { isAtTerminal: true });
    page = await enter(page.context(), desk);
    const { path, hurry } = the(5);
    const question = 'Stop at a clean place and close the desk?';
    const asked = (): number => desk.said().split(question).length - 1;
    await beginSlowly(the(5));
    desk.type(ctrlC);
    await expect.poll(desk.said, { timeout: 60_000 }).toContain(question);
    expect(desk.said()).toContain(`for ${label}`);
    desk.type('n\r');
    await expect.poll(desk.said, { timeout: 60_000 }).toContain('The desk stays open, and the work goes on.');
    await page.getByRole('progressbar', { name: path }).waitFor();
    const before = asked();
    desk.type(ctrlC);
    await expect.poll(asked, { timeout: 60_000 }).toBeGreaterThan(before);
    desk.type(ctrlC);
    await expect.poll(desk.said, { timeout: 60_000 }).toContain('It stops at a clean place');
    hurry();
    expect(await desk.ended).toBe(0);
    expect(verified(path)).toBe(1);
    // With nothing under way nobody is asked.
    desk = await openDesk(laid, [], { isAtTerminal: true });
    desk.type(ctrlC);
    expect(await desk.ended).toBe(0);
    expect(desk.said()).not.toContain(question);
  });

  check('a third Ctrl-C ends the desk at once, and what it began ends with it', async () => {
    desk = await openDesk(laid, [], { isAtTerminal: true });
    page = await enter(page.context(), desk);
    await page.getByRole('button', { name: 'Take a new slip' }).click();
    const { path, hurry } = the(5);
    await beginSlowly(the(5));
    desk.type(ctrlC);
    await expect.poll(desk.said, { timeout: 60_000 }).toContain('Stop at a clean place and close the desk?');
    desk.type(ctrlC);
    await expect.poll(desk.said, { timeout: 60_000 }).toContain('It stops at a clean place');
    desk.type(ctrlC);
    expect(await desk.ended).toBe(130);
    hurry();
    await expect.poll(() => holdersOf(path), { timeout: 60_000 }).toEqual([]);
    expect(verified(path)).toBe(1);
  });
});
