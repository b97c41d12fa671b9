import { createHash } from 'node:crypto';
import { readFileSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import type { Browser, Locator, Page } from 'playwright-core';
import { afterAll, beforeAll, describe, expect } from 'vitest';
import { stickwright } from '../fixtures/command.ts';
import { makeScratch, run } from '../fixtures/volumes/scratch.ts';
import { enter, faults, layDesk, type OpenDesk, openDesk, startBrowser, turnTo } from '../fixtures/window/open-desk.ts';
import { needs } from '../outside/needs.ts';

const check = needs({ chromium: 'chromium', mcopy: 'mtools' });

const label = 'K2-second 75/5B';
const digest = (path: string): string => createHash('sha256').update(readFileSync(path)).digest('hex');

describe('sticks in the window', () => {
  const scratch = makeScratch();
  let browser: Browser;
  let desk: OpenDesk;
  let page: Page;
  beforeAll(async () => {
    desk = await openDesk(await layDesk(scratch, { sticks: 2 }));
    const archive = join(scratch.path, 'maker', 'reed.1717_5B_second_K2.zip');
    const words = ['--mode', 'in-os', '--label', label, '--running', 'reed.746', '--yes'];
    const [stick = ''] = desk.sticks;
    const made = stickwright(['prepare', archive, ...words, '--stick', stick, '--family', 'samples/families']);
    if (made.exitCode !== 0 && made.exitCode !== 4) throw new Error(made.stdout + made.stderr);
    browser = await startBrowser();
    page = await enter(await browser.newContext(), desk);
    await turnTo(page, 'Sticks');
  });
  afterAll(async () => {
    await browser?.close();
    await desk?.end();
    scratch.undo();
  });

  const tag = (at: number): Locator => page.getByRole('article', { name: `Stick ${desk.sticks[at]}` });

  /** Opens one of the forms on a stick's tag. */
  async function open(at: number, title: string): Promise<Locator> {
    const form = tag(at).getByRole('form', { name: title });
    if (!(await form.isVisible())) await tag(at).locator('summary', { hasText: title }).click();
    await form.waitFor();
    return form;
  }

  const putAway = async (): Promise<void> => {
    const button = page.getByRole('button', { name: /^Put away/ });
    while ((await button.count()) > 0) {
      const left = await button.count();
      await button.first().click();
      await expect.poll(() => button.count()).toBeLessThan(left);
    }
  };

  check('verifies one, with and without a label, whole and quickly', async () => {
    const form = await open(0, 'Verify');
    await form.getByRole('textbox').fill(label);
    await form.getByRole('button').click();
    const stamp = tag(0).getByRole('img', { name: 'READY', exact: true });
    await stamp.waitFor();
    expect(await faults(page)).toEqual([]);
    // Who wants nothing to move sees nothing move (Media Queries Level 5, 12.1).
    const moves = (): Promise<string> =>
      page.evaluate("getComputedStyle(document.querySelector('.stamp.ready')).animationName");
    expect(await moves()).toBe('stamped');
    await page.emulateMedia({ reducedMotion: 'reduce' });
    expect(await moves()).toBe('none');
    await page.emulateMedia({ reducedMotion: 'no-preference' });
    await tag(0).getByText('At the panel, step by step').click();
    expect(await tag(0).getByText('Afterwards:', { exact: false }).isVisible()).toBe(true);
    await putAway();
    await form.getByRole('textbox').fill('K2-first 75/5B');
    await form.getByRole('button').click();
    await tag(0).getByRole('img', { name: 'NOT READY', exact: true }).waitFor();
    await putAway();
    await form.getByRole('textbox').fill('');
    await form.getByRole('checkbox', { name: /Names and sizes/ }).check();
    await form.getByRole('button').click();
    await tag(0).getByRole('img', { name: 'UNPROVEN', exact: true }).waitFor();
    await putAway();
  });

  check(
    'looks at one that came back, keeps what the panel left, and clears it when somebody agrees',
    {
      tags: ['nobodys-files-vanish'],
    },
    async () => {
      const [stick = ''] = desk.sticks;
      const log = join(scratch.path, 'update.log');
      writeFileSync(log, 'failed at 61 %\n');
      run('mmd', '-i', `${stick}@@1M`, '::LOST.DIR');
      run('mcopy', '-i', `${stick}@@1M`, log, '::update.log');
      const before = digest(stick);
      const form = await open(0, 'It came back');
      await form.getByRole('checkbox', { name: /Copy what a panel left/ }).check();
      await form.getByRole('checkbox', { name: /clear it/ }).check();
      await form.getByRole('button').click();
      const agreement = tag(0).getByRole('form', { name: 'Agreement' });
      await agreement.waitFor();
      expect(await tag(0).getByRole('table').textContent()).toContain('update.log');
      expect(await tag(0).textContent()).toContain('MAY GO AGAIN');
      expect(await faults(page)).toEqual([]);
      expect(digest(stick)).toBe(before);
      await agreement.getByRole('button', { name: 'No, leave it as it is' }).click();
      await page.getByRole('button', { name: /^Put away/ }).waitFor();
      expect(digest(stick)).toBe(before);
      await putAway();
      await form.getByRole('button').click();
      await agreement.getByRole('button', { name: 'Clear it as shown' }).click();
      await tag(0).getByText('Cleared, and looked at again.').waitFor();
      const kept = (await tag(0).locator('code').allTextContents()).find(
        (text) => text.startsWith(scratch.path) && /[\\/]left[\\/]/.test(text),
      );
      expect(readFileSync(join(kept ?? '', 'update.log'), 'utf8')).toBe('failed at 61 %\n');
      expect(run('mdir', '-b', '-i', `${stick}@@1M`, '::')).not.toContain('reed');
      await putAway();
    },
  );

  check(
    'erases one only when its size is typed, and shows before what would be lost',
    {
      tags: ['plan-before-touch'],
    },
    async () => {
      const [, stick = ''] = desk.sticks;
      const photo = join(scratch.path, 'holiday.jpg');
      writeFileSync(photo, 'somebody’s');
      run('mcopy', '-i', `${stick}@@1M`, photo, '::holiday.jpg');
      const before = digest(stick);
      const form = await open(1, 'Format');
      await form.getByRole('combobox', { name: 'How the panel' }).selectOption('recovery');
      await form.getByRole('textbox').fill('PANEL');
      await form.getByRole('button').click();
      const agreement = tag(1).getByRole('form', { name: 'Agreement' });
      await agreement.waitFor();
      expect(await tag(1).textContent()).toContain('holiday.jpg');
      expect(await faults(page)).toEqual([]);
      expect(await agreement.getByRole('button', { name: 'Erase it' }).isDisabled()).toBe(true);
      // Where the system sets the colours it takes the slanted bars away (CSS Color Adjustment, 3.1): a frame stays.
      await page.emulateMedia({ forcedColors: 'active' });
      const frame = page.evaluate("getComputedStyle(document.querySelector('.wipe-band')).borderTopStyle");
      expect(await frame).toBe('double');
      await page.emulateMedia({ forcedColors: 'none' });
      await agreement.getByRole('textbox').fill('32 GB');
      await agreement.getByRole('button', { name: 'Erase it' }).click();
      await page.getByText('That is not the size of the stick.').waitFor();
      expect(digest(stick)).toBe(before);
      await agreement.getByRole('textbox').fill('64 MiB');
      await agreement.getByRole('button', { name: 'Erase it' }).click();
      await tag(1).getByText('Formatted, and read back.').waitFor();
      expect(run('mdir', '-b', '-i', `${stick}@@1M`, '::')).not.toContain('holiday');
      expect(run('mlabel', '-s', '-i', `${stick}@@1M`, '::')).toContain('PANEL');
      await putAway();
    },
  );

  check('proves one, which erases it too', async () => {
    const form = await open(1, 'Prove');
    await form.getByRole('button').click();
    const agreement = tag(1).getByRole('form', { name: 'Agreement' });
    await agreement.getByRole('textbox').fill('67,108,864');
    await agreement.getByRole('button', { name: 'Erase it' }).click();
    await tag(1).getByText('written and read back; writes', { exact: false }).waitFor();
    expect(await tag(1).textContent()).toContain('67,108,864 bytes (67.1 MB) of 67,108,864 bytes');
    expect(await faults(page)).toEqual([]);
    await putAway();
  });

  check('works on nothing that it was not shown', async () => {
    const statuses = await page.evaluate(`Promise.all([
      ['verify', { target: '/etc' }],
      ['returned', { target: '/dev/sda', clear: true }],
      ['format', { target: '/dev/sda', mode: 'recovery' }],
      ['prove', { target: '/etc/passwd', how: 'whole' }],
      ['format', { target: ${JSON.stringify(desk.sticks[1])}, mode: 'none' }],
    ].map(([what, body]) => fetch('/api/sticks/' + what, {
      method: 'POST',
      headers: { 'x-desk-token': localStorage.getItem('stickwright-token') },
      body: JSON.stringify(body),
    }).then(({ status }) => status)))`);
    expect(statuses).toEqual([409, 409, 409, 409, 400]);
  });
});
