import { rmSync } from 'node:fs';
import { join } from 'node:path';
import { pathToFileURL } from 'node:url';
import type { Page } from 'playwright-core';
import { afterAll, beforeAll, describe, expect } from 'vitest';
import { deskWithPocket, openPhone } from '../fixtures/phone.ts';
import { keptRound } from '../fixtures/pockets.ts';
import { makeLoad, makeRoom, makeRound } from '../fixtures/round.ts';
import { missingPrograms, needs } from '../outside/needs.ts';

const inBrowser = needs({ chromium: 'chromium' });
const canRun = missingPrograms({ chromium: 'chromium' }) === '';
let desk: Awaited<ReturnType<typeof deskWithPocket>>;
beforeAll(async () => {
  if (canRun) desk = await deskWithPocket();
}, 120_000);
afterAll(() => rmSync(desk?.folder ?? '', { recursive: true, force: true, maxRetries: 5 }));

const open = (name: string) => openPhone(join(desk.folder, name), desk.file);

async function checkBoth(page: Page): Promise<void> {
  for (const [section, text] of [
    ['#stick', 'clyftj'],
    ['#plate', 'K2-second 75/5B'],
  ] as const) {
    await page.locator(`${section} input.mono`).fill(text);
    await page.locator(`${section} form button`).tap();
    await page.locator(`${section} .told.good`).waitFor();
  }
}

const shift = (ms: number): string =>
  `{ const real = Date.now; Date.now = () => real() + ${ms}; dispatchEvent(new Event('focus')); }`;
const hourMs = 3_600_000;

describe('the clock of the phone', { timeout: 120_000 }, () => {
  inBrowser('is said to be wrong where the file or an entry is younger, and where it went back in a wait', async () => {
    const { context, page } = await open('clock');
    await page.evaluate(shift(-hourMs));
    await page.getByRole('alert').filter({ hasText: 'The clock of this phone is wrong' }).waitFor();
    await page.reload();
    await page.getByRole('link', { name: /^Room 2.14/ }).tap();
    await checkBoth(page);
    expect(await page.getByText('The clock of this phone is wrong').count()).toBe(0);
    await page.getByRole('button', { name: 'The update runs now' }).tap();
    await page.getByText(/2[45] minutes left/).waitFor();
    await page.evaluate(shift(-hourMs));
    await page.getByText('It cannot tell what is left.').waitFor();
    await context.close();
  });

  inBrowser('passes midnight, and a night in which the page stood still, with the day beside the time', async () => {
    const { context, page } = await open('midnight');
    const midnight = new Date();
    midnight.setHours(24, 0, 0, 0);
    const next = `${midnight.getFullYear()}-${String(midnight.getMonth() + 1).padStart(2, '0')}-${String(midnight.getDate()).padStart(2, '0')}`;
    await page.clock.install({ time: midnight.getTime() - 10 * 60_000 });
    await page.goto(pathToFileURL(desk.file).href);
    await page.getByRole('link', { name: /^Room 2.14/ }).tap();
    await checkBoth(page);
    await page.getByRole('button', { name: 'The update runs now' }).tap();
    await page.getByText(`25 minutes left, until ${next} 00:15 at the latest.`).waitFor();
    await page.clock.setSystemTime(midnight.getTime() + 20 * 60_000);
    await page.evaluate(`dispatchEvent(new Event('focus'))`);
    await page.getByText('The time is over since 5 minutes.').waitFor();
    await page.getByText(/^Started at \d{4}-\d\d-\d\d 23:50\./).waitFor();
    await context.close();
  });
});

describe('a page that the phone threw away', { timeout: 120_000 }, () => {
  inBrowser('has the words that were typed and not recorded yet, and forgets them when they are', async () => {
    const { context, page } = await open('thrown-away');
    await page.getByRole('link', { name: /^Room 2.14/ }).tap();
    await checkBoth(page);
    await page.getByRole('button', { name: 'It failed' }).tap();
    await page.getByLabel(/^The exact words/).fill('No update fi');
    const place = page.url();
    await page.goto('chrome://crash').catch(() => {}); // the browser ends the page's process
    const again = await context.newPage();
    await again.goto(place);
    expect(await again.getByLabel(/^The exact words/).inputValue()).toBe('No update fi');
    await again.getByLabel(/^The exact words/).fill('No update file found');
    await again.getByRole('button', { name: 'Record', exact: true }).tap();
    await again.getByText('Recorded: failed').waitFor();
    expect(await again.getByLabel(/^The exact words/).count()).toBe(0);
    await context.close();
  });
});

describe('what is next', { timeout: 120_000 }, () => {
  inBrowser('is read aloud and in view after each answer, and is the room with a stick after the record', async () => {
    const { context, page } = await open('next');
    await page.getByRole('link', { name: /^Room 2.14/ }).tap();
    const focused = () => page.evaluate<string>('document.activeElement.textContent');
    await expect.poll(focused).toBe('Room 2.14');
    await page.locator('#stick input.mono').fill('clyftj');
    await page.locator('#stick form button').tap();
    await expect.poll(focused).toBe('2. The plate');
    await page.locator('#plate input.mono').fill('K2-second 75/5B');
    await page.locator('#plate form button').tap();
    await expect.poll(focused).toBe('3. Steps');
    const isInView = async (): Promise<boolean> => {
      const { y = -1 } = (await page.locator('#steps h2').boundingBox()) ?? {};
      return y > 60 && y < 640;
    };
    await expect.poll(isInView).toBe(true);
    await page.getByRole('button', { name: 'It shows a build' }).tap();
    await page.getByLabel(/^Build on the About page/).fill('reed.1717');
    await page.getByRole('button', { name: 'Record', exact: true }).tap();
    // Room 1.03 comes before it in walking order, and has no stick yet.
    await page.getByRole('link', { name: 'Next room: Assembly hall' }).tap();
    await page.getByRole('heading', { level: 1, name: 'Assembly hall' }).waitFor();
    await context.close();
  });
});

describe('rooms of every kind', { timeout: 120_000 }, () => {
  const longName = `Außenstelle Süd, Nebengebäude, ${'Gruppenarbeitsraum-'.repeat(6)}3b`;
  const arabic = 'غرفة 12، الطابق الثاني';
  const names = [longName, arabic, 'Größe Übungsraum Ähre'];

  inBrowser('fit on a screen of 360, on its side and at twice the size of text, to the last room', async () => {
    const rooms = names.map((key, index) => makeRoom({ key, serial: `SD75B-2291-000${index}`, notes: arabic }));
    const load = makeLoad('A', 'sedge', 'in-os', { rooms: names });
    const own = await deskWithPocket({ ...makeRound({ rooms, loads: [load] }), list: keptRound().list });
    const { context, page, faults } = await openPhone(own.folder, own.file);
    const width = () => page.evaluate<number>('document.documentElement.scrollWidth - innerWidth');
    for (const [index, name] of names.entries()) {
      await page.locator(`a[href="#room-${index}"]`).first().tap();
      await page.getByRole('heading', { level: 1, name }).waitFor();
      for (const [size, viewport] of [
        ['', { width: 360, height: 740 }],
        ['225%', { width: 360, height: 740 }],
        ['', { width: 740, height: 360 }],
      ] as const) {
        await page.setViewportSize(viewport);
        await page.evaluate(`document.documentElement.style.fontSize = '${size}'`);
        expect([name, size, await width()]).toEqual([name, size, 0]);
      }
      await page.setViewportSize({ width: 360, height: 740 });
      await page.evaluate(`document.documentElement.style.fontSize = ''`);
      await page.getByRole('button', { name: 'Skipped' }).tap();
      await page.getByLabel('Why was nothing done?').fill('an exam');
      await page.getByRole('button', { name: 'Record', exact: true }).tap();
      await page.getByText('Recorded: skipped').waitFor();
      if (index < names.length - 1) await page.getByRole('link', { name: /^Rooms$/ }).tap();
    }
    await page.getByText('No room is left to do.').waitFor();
    expect(faults).toEqual([]);
    await context.close();
    rmSync(own.folder, { recursive: true, force: true, maxRetries: 5 });
  });
});

/** What has the focus, and whether it lies behind a bar although it has room between them. */
const sight = `(() => {
  const [head, bar] = ['.top', '.bottom'].map((name) => document.querySelector(name).getBoundingClientRect());
  const { activeElement: at } = document;
  const { top, bottom } = at.getBoundingClientRect();
  const isFree = at === document.body || ['.top', '.bottom'].some((name) => at.closest(name) !== null);
  const isBehind = top < head.bottom - 1 || bottom > bar.top + 1;
  return {
    name: at.textContent.trim().slice(0, 30) || at.tagName,
    isHidden: !isFree && isBehind && bottom - top < bar.top - head.bottom,
  };
})()`;

describe('the focus of a keyboard', { timeout: 120_000 }, () => {
  inBrowser(
    'is never behind the bars (WCAG 2.2, 2.4.11), on the list, in a room and where it is given out',
    async () => {
      const { context, page } = await open('keyboard');
      for (const hash of ['', '#room-0', '#room-2', '#out']) {
        await page.goto(pathToFileURL(desk.file).href + hash);
        await page.locator('.bottom').waitFor();
        for (const key of ['Tab', 'Shift+Tab']) {
          const seen: { readonly name: string; readonly isHidden: boolean }[] = [];
          for (let step = 0; step < 40; step += 1) {
            await page.keyboard.press(key);
            seen.push(await page.evaluate(sight));
          }
          expect([hash, key, seen.filter(({ isHidden }) => isHidden)]).toEqual([hash, key, []]);
          expect(new Set(seen.map(({ name }) => name)).size).toBeGreaterThan(3);
        }
      }
      await context.close();
    },
  );
});
