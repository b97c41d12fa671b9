import { existsSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import type { Browser, Page } from 'playwright-core';
import { afterAll, beforeAll, describe, expect } from 'vitest';
import { type DeskItem, deskStateWords } from '../../src/core/guide/judge-desk.ts';
import { inWindow } from '../../src/core/text/in-window.ts';
import { openRound } from '../../src/io/rounds/open-round.ts';
import { stickwright } from '../fixtures/command.ts';
import { makeScratch } from '../fixtures/volumes/scratch.ts';
import {
  drop,
  enter,
  faults,
  layDesk,
  type OpenDesk,
  openDesk,
  startBrowser,
  turnTo,
} from '../fixtures/window/open-desk.ts';
import { needs } from '../outside/needs.ts';

const check = needs({ chromium: 'chromium' });

describe('what a desk has, and what it says once', () => {
  const scratch = makeScratch();
  const home = join(scratch.path, 'home');
  const families = join(home, 'families');
  const file = join(home, 'config', 'stickwright', 'settings.json');
  const round = join(scratch.path, 'autumn.round');
  let laid: Awaited<ReturnType<typeof layDesk>>;
  let browser: Browser;
  let desk: OpenDesk;
  let page: Page;
  beforeAll(async () => {
    laid = await layDesk(scratch, { sticks: 1 });
    desk = await openDesk(laid, ['--round', round]);
    browser = await startBrowser();
    page = await enter(await browser.newContext(), desk);
  });
  afterAll(async () => {
    await browser?.close();
    await desk?.end();
    scratch.undo();
  });

  /** The command at the same desk, whose settings lie in CONFIG. */
  const run = (words: readonly string[], config = join(home, 'config')) =>
    stickwright(words, {
      ...{ HOME: home, XDG_CONFIG_HOME: config, XDG_DATA_HOME: join(home, 'data') },
      ...{ STICKWRIGHT_FAMILIES: families, STICKWRIGHT_SHELF: laid.shelf },
    });

  /** What the sheet says of each thing, when a look is over. */
  const told = async (): Promise<readonly (readonly string[])[]> => {
    await page.getByText(/^(Nothing that is needed is broken\.|\d+ to mend\.)$/).waitFor();
    const rows = await page.locator('.here tr').all();
    return await Promise.all(rows.map((row) => row.locator('th, td').allTextContents()));
  };
  // All of it is done by keyboard.
  const lookAgain = (): Promise<void> => page.getByRole('button', { name: 'Look again' }).press('Enter');
  const byCommand = (): readonly (readonly string[])[] => {
    const { desk: items } = JSON.parse(run(['check-desk', '--json']).stdout) as { desk: readonly DeskItem[] };
    return items.map(({ title, state, detail, todo }) => {
      const words = [inWindow(detail).replaceAll('\n', ''), inWindow(todo)];
      return [title, deskStateWords[state], words.join('')];
    });
  };

  const setting = (title: string) => page.getByRole('region', { name: title, exact: true });
  const open = (title: string): Promise<void> => setting(title).getByText('Change it').press('Enter');
  /** Sets it, and waits for what is said of it. */
  const set = async (title: string, value: string): Promise<string | null> => {
    const form = setting(title).getByRole('form');
    const field = form.getByRole('textbox').or(form.getByRole('combobox'));
    if ((await form.getByRole('combobox').count()) > 0) await field.selectOption(value);
    else await field.fill(value);
    await form.getByRole('button', { name: 'Set it' }).press('Enter');
    const said = form.getByRole('status').filter({ hasText: /[✓✗]/ });
    await said.waitFor();
    return await said.textContent();
  };
  const takeBack = async (title: string): Promise<void> => {
    await setting(title).getByRole('button', { name: 'Take it back' }).press('Enter');
    await setting(title).getByText('✓ Taken back.').waitFor();
    await setting(title).locator(':is(input, select, textarea):focus').waitFor();
  };

  check('stands on a sheet, with the same answers as check-desk has there', async () => {
    await turnTo(page, 'Desk');
    expect(await told()).toEqual(byCommand());
    expect(await faults(page)).toEqual([]);
  });

  check('says which family file is not sound, and what the settings hold that nobody can use', async () => {
    const broken = join(families, 'broken.yaml');
    writeFileSync(broken, 'family: [');
    await lookAgain();
    await page.getByText('1 to mend.').waitFor();
    const row = (name: string) => page.locator('.here tr').filter({ has: page.getByRole('rowheader', { name }) });
    expect(await row('Families').textContent()).toMatch(/BROKEN.*broken\.yaml/);
    expect(await told()).toEqual(byCommand());
    expect(await faults(page)).toEqual([]);
    rmSync(broken);
    expect(await saidWith('{"schema":"stickwright/settings/1","papr":"a5"}')).toMatch(
      /BROKEN.*there is no setting papr/,
    );
    expect(await saidWith('{"schema":"stickwright/settings/1","paper":"a4"}')).toMatch(/BROKEN.*a5 or a6, not a4/);
    await page.reload();
    await setting('Paper').getByText('It cannot be used: paper is a5 or a6, not a4.').waitFor();
    expect(await faults(page)).toEqual([]);
    rmSync(file);
    await page.reload();
    expect(await told()).toEqual(byCommand());

    /** Has TEXT stand in the file of settings, and answers what the sheet says of it. */
    async function saidWith(text: string): Promise<string | null> {
      stickwright(['settings', 'set', 'paper', 'a5'], { XDG_CONFIG_HOME: join(home, 'config') });
      writeFileSync(file, text);
      await lookAgain();
      await page.getByText('1 to mend.').waitFor();
      return await row('Settings').textContent();
    }
  });

  check('refuses what the command refuses, and a path that begins nowhere; nothing is written', async () => {
    for (const title of ['Families', 'Shelf', 'Time zone', 'Who', 'Trusted seals']) await open(title);
    expect(await set('Time zone', 'Mars/Base')).toContain('Mars/Base is no time zone such as Europe/Lisbon or UTC.');
    expect(await set('Families', '/not/there')).toContain('there is no /not/there.');
    expect(await set('Families', `${families}\nfamilies`)).toContain('families is no whole path. Write it from');
    expect(await set('Shelf', '../shelf')).toContain('../shelf is no whole path.');
    expect(await set('Trusted seals', '')).toContain('trusted-seals is empty.');
    expect(await set('Who', ' ')).toContain('who is empty.');
    expect(await faults(page)).toEqual([]);
    expect(existsSync(file)).toBe(false);
    const statuses = await page.evaluate(`Promise.all(${JSON.stringify([
      { name: 'papr', values: ['a5'] },
      { name: 'paper', values: 'a5' },
      { name: 'paper', values: ['a'.repeat(5000)] },
      { name: 'families', values: Array(101).fill('/') },
    ])}.map((body) => fetch('/api/set-up/settings', {
      method: 'PUT',
      headers: { 'x-desk-token': localStorage.getItem('stickwright-token') },
      body: JSON.stringify(body),
    }).then(({ status }) => status)))`);
    expect(statuses).toEqual([400, 400, 400, 400]);
    expect(existsSync(file)).toBe(false);
  });

  check('holds from then on, also where rounds are worked on: whose name, which zone, which paper', async () => {
    const leaf = (name: string) =>
      page.getByRole('navigation', { name: 'Leaves of the round' }).getByRole('link', { name }).click();
    // The process that answers for rounds is there before anything is set.
    await page.getByRole('link', { name: 'Round' }).click();
    await drop(page, 'samples/rooms/quillhaven.csv');
    await page.getByRole('button', { name: 'Make the plan' }).click();
    await page.getByRole('table', { name: 'The order of the sticks' }).waitFor();
    await turnTo(page, 'Desk');
    await open('Paper');
    for (const [title, value] of [
      ['Who', 'I. Marlow'],
      ['Time zone', 'Pacific/Auckland'],
      ['Paper', 'a6'],
    ] as const) {
      if (title !== 'Paper') await open(title);
      expect(await set(title, value)).toBe('✓ It is set.');
      expect(await setting(title).textContent()).toContain(`${value}Set here.`);
    }
    await page.getByText('desk of I. Marlow').waitFor();

    await page.getByRole('link', { name: 'Round' }).click();
    await leaf('Plan');
    const planned = page.locator('time').first();
    const at = new Date((await planned.getAttribute('datetime')) ?? '');
    const inAuckland = { dateStyle: 'medium', timeStyle: 'short', timeZone: 'Pacific/Auckland' } as const;
    expect(await planned.textContent()).toBe(at.toLocaleString('en-GB', inAuckland));
    await leaf('Results');
    await page.getByLabel('Scan a card, or type a room').fill('Fernmoor 1.01');
    await page.keyboard.press('Enter');
    const form = page.getByRole('form', { name: 'How it went: Fernmoor 1.01' });
    await form.getByLabel('Build on the About page now').fill('reed.1717');
    await form.getByRole('button', { name: 'Note it' }).click();
    await form.getByText('Noted, and kept').waitFor();
    // So it does for work that has a process of its own, kept ready since before.
    await leaf('Sticks');
    await page.getByRole('radio', { name: /stick-1\.img/ }).check();
    await page.getByRole('button', { name: 'Show what would be written on it' }).click();
    await page.getByRole('button', { name: 'Write as shown' }).click();
    await page.locator('.stick-code b').waitFor();
    const { records } = await openRound(round, '').records();
    expect(records.map(({ kind, who }) => [kind, who])).toEqual([
      ['visit', 'I. Marlow'],
      ['prepared', 'I. Marlow'],
    ]);
    await leaf('Paper');
    expect(await page.getByRole('radio', { name: 'A6' }).isChecked()).toBe(true);
    const opened = page.context().waitForEvent('page');
    await page.getByRole('button', { name: 'The report' }).click();
    const report = await opened;
    await report.waitForURL(/\/paper\//);
    await report.waitForLoadState();
    expect(await report.textContent('body')).toMatch(/\d{4}-\d{2}-\d{2} \d{2}:\d{2} (NZ[SD]T|GMT\+1[23])/);
    await report.close();
  });

  check('writes what the command would have written, byte for byte, and says what beats it', async () => {
    await turnTo(page, 'Desk');
    const several = [join(families, 'sedge.yaml'), families];
    await open('Families');
    expect(await set('Families', `${several.join('\n')}\n`)).toBe('✓ It is set.');
    const said = await setting('Families').textContent();
    expect(said).toContain('Said by the variable STICKWRIGHT_FAMILIES: it beats what is set here.');
    expect(said).toContain(`Kept here all the same, for when nothing beats it:${several.join('')}`);
    expect(await setting('Shelf').textContent()).toContain('Said by the word --shelf, with which this desk was opened');
    await open('Published hash');
    expect(await set('Published hash', 'always')).toBe('✓ It is set.');
    const config = join(scratch.path, 'config of the command');
    for (const [name, ...values] of [
      ['who', 'I. Marlow'],
      ['time-zone', 'Pacific/Auckland'],
      ['paper', 'a6'],
      ['families', ...several],
      ['published-hash', 'always'],
    ])
      expect(run(['settings', 'set', name ?? '', ...values], config).exitCode).toBe(0);
    const written = readFileSync(join(config, 'stickwright', 'settings.json'));
    expect(readFileSync(file).equals(written), readFileSync(file, 'utf8')).toBe(true);
    expect(await faults(page)).toEqual([]);
  });

  check('takes back, and the desk is as it comes; another page sees it too', async () => {
    // What somebody sets by the command meanwhile holds here when the sheet is turned to.
    expect(run(['settings', 'set', 'who', 'R. Sorrel']).exitCode).toBe(0);
    await turnTo(page, 'Families');
    await turnTo(page, 'Desk');
    await page.getByText('desk of R. Sorrel').waitFor();
    expect(await setting('Who').textContent()).toContain('R. SorrelSet here.');
    const other = await page.context().newPage();
    await other.goto(`${desk.origin}/#desk`);
    await other.getByText('desk of R. Sorrel').waitFor();
    for (const title of ['Families', 'Who', 'Time zone', 'Paper', 'Published hash']) await open(title);
    for (const title of ['Families', 'Who', 'Time zone', 'Paper', 'Published hash']) await takeBack(title);
    expect(existsSync(file)).toBe(false);
    expect(await setting('Who').textContent()).toContain('the name you are logged in withAs it comes.');
    for (const one of [page, other]) await one.getByText(/^stickwright desk of (?!R\. Sorrel)/).waitFor();
    await other.getByRole('region', { name: 'Who', exact: true }).getByText('As it comes.').waitFor();
    await other.close();
  });

  check('is there where nothing else is, because the families cannot be used: and mends that', async () => {
    const wrong = join(scratch.path, 'wrong.yaml');
    writeFileSync(wrong, 'family: [');
    expect(run(['settings', 'set', 'families', wrong]).exitCode).toBe(0);
    const without = await openDesk(laid, [], {
      around: (command) => ['/usr/bin/env', '-u', 'STICKWRIGHT_FAMILIES', ...command],
    });
    try {
      page = await (await browser.newContext()).newPage();
      page.setDefaultTimeout(60_000);
      await page.goto(without.address);
      await page.getByText('then look again on the sheet Desk').waitFor();
      await turnTo(page, 'Desk');
      await page.getByText('1 to mend.').waitFor();
      expect(await faults(page)).toEqual([]);
      await open('Families');
      expect(await set('Families', families)).toBe('✓ It is set.');
      await page.getByText('Nothing that is needed is broken.').waitFor();
      await turnTo(page, 'Families');
      await page.getByText('3 families of panels').waitFor();
    } finally {
      await without.end();
    }
  });
});
