import { readFileSync } from 'node:fs';
import { join } from 'node:path';
import type { Browser, Page } from 'playwright-core';
import { afterAll, beforeAll, describe, expect } from 'vitest';
import { stickwright } from '../fixtures/command.ts';
import { makeScratch } from '../fixtures/volumes/scratch.ts';
import { drop, enter, faults, layDesk, type OpenDesk, openDesk, startBrowser } from '../fixtures/window/open-desk.ts';
import { needs } from '../outside/needs.ts';

const check = needs({ chromium: 'chromium' });

const sample = 'samples/rooms/quillhaven.csv';

describe('a round through the window', () => {
  const scratch = makeScratch();
  let browser: Browser;
  let laid: Awaited<ReturnType<typeof layDesk>>;
  let desk: OpenDesk;
  let page: Page;
  const folder = join(scratch.path, 'autumn.round');
  beforeAll(async () => {
    laid = await layDesk(scratch);
    desk = await openDesk(laid, ['--round', folder]);
    browser = await startBrowser();
    page = await enter(await browser.newContext(), desk);
  });
  afterAll(async () => {
    await browser?.close();
    await desk?.end();
    scratch.undo();
  });

  check('takes a list that is dropped, and says what each column is taken for', async () => {
    await page.getByRole('link', { name: 'Round' }).click();
    await drop(page, sample);
    const columns = page.getByRole('combobox', { name: 'Panel label' });
    await columns.waitFor();
    expect(await columns.inputValue()).toBe('label');
    expect(await faults(page)).toEqual([]);
    // The label is pointed at in another column, and back; both times the rows follow.
    await page.getByRole('combobox', { name: 'Remarks' }).selectOption('label');
    await page.getByText('as you pointed').first().waitFor();
    await columns.selectOption('label');
    await page.getByText('66 rows: 51 rooms, 12 cannot be used').waitFor();
  });

  check('lets a row be mended in place, with the reason beside it, on our copy alone', async () => {
    const before = readFileSync(sample);
    const row = page.getByRole('listitem').filter({ hasText: 'line 23: left out' });
    expect(await row.textContent()).toContain('the label of "Fernmoor 2.07" is missing');
    await row.getByLabel('Panel label').fill('home-second 75/5B');
    await row.getByLabel('Panel label').blur();
    await page.getByText('66 rows: 52 rooms, 11 cannot be used').waitFor();
    expect(readFileSync(sample).equals(before)).toBe(true);
  });

  check('draws the plan as sticks over time, and says of each held room why', async () => {
    await page.getByLabel('Sticks at hand').fill('4');
    await page.getByRole('button', { name: 'Make the plan' }).click();
    await page.getByRole('table', { name: 'The order of the sticks' }).waitFor();
    expect(await faults(page)).toEqual([]);
    const order = await page.getByRole('table', { name: 'The order of the sticks' }).textContent();
    expect(order).toContain('WIPES');
    expect(await page.locator('.lane').count()).toBe(4);
    expect(await page.locator('.lane .walking.wipes').count()).toBeGreaterThan(0);

    // What is held says why, on its card.
    await page.getByRole('combobox', { name: 'Show' }).selectOption('held');
    await page.getByRole('searchbox', { name: 'Look for' }).fill('1.11');
    await page.getByRole('button', { name: /Fernmoor 1\.11/ }).click();
    const card = page.getByRole('article', { name: 'Card of Fernmoor 1.11' });
    expect(await card.textContent()).toContain('To do:');
    expect(await faults(page)).toEqual([]);
  });

  check('makes the plan that the command would make', async () => {
    // The same plan as of the command: the mended room has its load, and everything else is as the list says.
    const status = stickwright(['round', 'status', '--round', folder, '--json']);
    const { rooms } = JSON.parse(status.stdout) as { rooms: { room: string; planned: string; label: string }[] };
    expect(rooms.find(({ room }) => room === 'Fernmoor 2.07')).toMatchObject({
      planned: 'update',
      label: 'home-second 75/5B',
    });
    const own = join(scratch.path, 'own.round');
    stickwright(['round', 'plan', sample, '--sticks', '4', '--shelf', laid.shelf, '--round', own], {
      STICKWRIGHT_FAMILIES: 'samples/families',
      STICKWRIGHT_COLUMNS: join(scratch.path, 'columns.json'),
    });
    const byCommand = JSON.parse(stickwright(['round', 'status', '--round', own, '--json']).stdout) as {
      rooms: typeof rooms;
    };
    const told = (all: typeof rooms) => all.map(({ room, planned }) => `${room}: ${planned}`);
    expect(told(rooms.filter(({ room }) => room !== 'Fernmoor 2.07'))).toEqual(told(byCommand.rooms));
  });
});
