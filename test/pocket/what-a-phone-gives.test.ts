import { spawnSync } from 'node:child_process';
import { copyFileSync, mkdirSync, readFileSync, rmSync, statSync } from 'node:fs';
import { createRequire } from 'node:module';
import { join } from 'node:path';
import type { Page } from 'playwright-core';
import { afterAll, beforeAll, describe, expect, test, vi } from 'vitest';
import type { Round } from '../../src/core/model/round.ts';
import { stickwright } from '../fixtures/command.ts';
import { deskWithPocket, openPhone } from '../fixtures/phone.ts';
import { keptRound } from '../fixtures/pockets.ts';
import { makeLoad, makeRoom, makeRound } from '../fixtures/round.ts';
import { needs } from '../outside/needs.ts';

vi.setConfig({ testTimeout: 120_000, hookTimeout: 120_000 });

const inBrowser = needs({ chromium: 'chromium' });
const canRun = spawnSync('which', ['chromium']).status === 0;
const axe = readFileSync(createRequire(import.meta.url).resolve('axe-core/axe.min.js'), 'utf8');

let desk: Awaited<ReturnType<typeof deskWithPocket>>;
beforeAll(async () => {
  if (canRun) desk = await deskWithPocket();
});
afterAll(() => rmSync(desk?.folder ?? '', { recursive: true, force: true, maxRetries: 5 }));

const profile = (name: string): string => join(desk.folder, name);

async function skipFirst(page: Page, why: string): Promise<void> {
  await page.getByRole('link', { name: /^Room 2.14/ }).tap();
  await page.getByRole('button', { name: 'Skipped' }).tap();
  await page.getByLabel('Why was nothing done?').fill(why);
  await page.getByRole('button', { name: 'Record', exact: true }).tap();
  await page.locator('header .stamp', { hasText: 'skipped' }).waitFor();
}

const giveOutText = async (page: Page): Promise<string> => {
  await page.getByRole('link', { name: /^Give out/ }).tap();
  return await page.getByLabel(/^\d entr/).inputValue();
};

/** Two hundred rooms, of the sample's make. */
function largeRound(): Round {
  const rooms = Array.from({ length: 200 }, (_, index) =>
    makeRoom({
      key: `Room ${Math.floor(index / 20) + 1}.${String((index % 20) + 1).padStart(2, '0')}`,
      asset: `QSA-${20_000 + index}`,
      serial: `SD75B-2291-${String(index).padStart(4, '0')}`,
      notes: index % 3 === 0 ? 'Key at the front office. Projection table stands below the panel.' : null,
    }),
  );
  const load = makeLoad('A', 'sedge', 'in-os', { rooms: rooms.map(({ key }) => key) });
  return { ...makeRound({ rooms, loads: [load] }), list: keptRound().list };
}

describe('a phone that gives less', () => {
  inBrowser('says that it keeps nothing, warns before it closes, and gives out all the same', async () => {
    const refusing = `Object.defineProperty(window, 'localStorage', { get() { throw new DOMException('no', 'SecurityError'); } });
      delete Navigator.prototype.share;`;
    const { context, page, faults } = await openPhone(profile('refused'), desk.file, { before: refusing });
    await page.goto(page.url()); // what runs before the page does so from the second page on
    await page.getByRole('alert').filter({ hasText: 'This phone keeps nothing for this page.' }).waitFor();
    await skipFirst(page, 'an exam');
    const asked = page.waitForEvent('dialog');
    const closing = page.close({ runBeforeUnload: true });
    expect((await asked).type()).toBe('beforeunload');
    await (await asked).dismiss();
    await closing;
    expect(await giveOutText(page)).toContain('SWP1/');
    expect(faults).toEqual([]);
    await context.close();
  });

  inBrowser('keeps what was kept when the storage is full in the middle of a round', async () => {
    const { context, page } = await openPhone(profile('full'), desk.file);
    await skipFirst(page, 'an exam');
    await page.evaluate(`Storage.prototype.setItem = () => { throw new DOMException('full', 'QuotaExceededError'); };`);
    await page.getByRole('button', { name: 'Skipped' }).tap();
    await page.getByLabel('Why was nothing done?').fill('a second exam');
    await page.getByRole('button', { name: 'Record', exact: true }).tap();
    await page.locator('#entries', { hasText: 'a second exam' }).waitFor();
    await page.getByRole('alert').filter({ hasText: 'This phone keeps nothing' }).waitFor();
    expect(await giveOutText(page)).toMatch(/2 entries[\s\S]*an exam[\s\S]*a second exam/);
    await context.close();
    const again = await openPhone(profile('full'), desk.file);
    expect(await giveOutText(again.page)).toMatch(/1 entry/);
    await again.context.close();
  });

  inBrowser('says why the camera was refused, and reads a photo or a word instead', async () => {
    const { context, page, faults } = await openPhone(profile('camera'), desk.file);
    await page.getByRole('button', { name: 'Scan the card or the tag' }).tap();
    await page.getByText(/^The camera was refused \(Not\w+Error\)/).waitFor();
    await page.getByLabel(/^Or type the room/).fill('qsa-10215');
    await page.getByRole('button', { name: 'Find' }).tap();
    await page.getByRole('heading', { level: 1, name: 'Room 2.15' }).waitFor();
    await page.goBack();
    await page.getByLabel(/^Or type the room/).fill('CLY FTJ');
    await page.getByRole('button', { name: 'Find' }).tap();
    await page.getByText('Stick CLY-FTJ is for these rooms:').waitFor();
    await page.getByLabel(/^Or type the room/).fill('Room 9.99');
    await page.getByRole('button', { name: 'Find' }).tap();
    await page.getByText('This file has no "Room 9.99".').waitFor();
    expect(faults).toEqual([]);
    await context.close();
  });

  inBrowser('is a readable list without scripts, with every room, wipe and approval', async () => {
    const { context, page } = await openPhone(profile('list'), desk.file, { withoutScripts: true });
    const text = ((await page.locator('main').textContent()) ?? '').replace(/\s+/g, ' ');
    for (const { room, label } of desk.round.rooms)
      expect([text.includes(room), text.includes(label)]).toEqual([true, true]);
    for (const words of [
      'THIS WIPES THE PANEL. Approved by D. Harrow',
      'THIS WIPES THE PANEL. WAIT: nobody approved it.',
      'stick CLY-FTJ, load A, in-OS, keeps data; build reed.746 → reed.1717',
      'Stop at once: smell',
      'Port: USB 1',
      'If it fails: photograph the screen',
    ])
      expect(text).toContain(words);
    expect(await page.evaluate('document.documentElement.scrollWidth')).toBeLessThanOrEqual(360);
    await context.close();
  });
});

describe('what a phone keeps', () => {
  inBrowser('goes on in a newer file for the same person, and is gone when it is erased', async () => {
    const { context, page } = await openPhone(profile('kept'), desk.file);
    await skipFirst(page, 'an exam');
    const approved = ['round', 'record', 'Library', '--approved-by', 'T. Ashby', '--round', desk.place];
    expect(stickwright(approved).exitCode).toBe(0);
    const written = ['round', 'pocket', '--for', 'Ada', '--round', desk.place, '--out', desk.file, '--overwrite'];
    expect(stickwright(written).exitCode).toBe(0);
    await page.reload();
    await page.locator('#entries', { hasText: 'an exam' }).waitFor();
    await page.getByRole('link', { name: 'Rooms', exact: true }).tap();
    await page.getByRole('link', { name: /^Library/ }).tap();
    await page.getByText('Approved by T. Ashby').waitFor();

    await page.getByRole('link', { name: 'About' }).tap();
    await page.getByText("Nobody else's rooms.").waitFor();
    await page.getByRole('button', { name: 'Erase what this phone keeps' }).tap();
    await page.getByText('Erase 1 entry? What was not given out is gone for good.').waitFor();
    await page.getByRole('button', { name: 'Yes, erase' }).tap();
    await page.getByText('Erased. Now delete the file itself').waitFor();
    expect(await page.evaluate('localStorage.length')).toBe(0);
    await page.reload();
    await page.getByRole('link', { name: 'Give out (0)' }).waitFor();
    await context.close();
  });

  inBrowser('is named where something changed it, and given out for the desk to see', async () => {
    const { context, page } = await openPhone(profile('changed'), desk.file);
    await skipFirst(page, 'an exam');
    await page.evaluate(`{ const key = Object.keys(localStorage).find((one) => one.includes('-line-'));
      localStorage.setItem(key, localStorage.getItem(key).replace('an exam', 'a party')); }`);
    await page.reload();
    await page.getByRole('link', { name: 'Rooms', exact: true }).tap();
    await page.getByText('One kept entry is damaged. It does not count.').waitFor();
    const coming = page.waitForEvent('download');
    await page.getByRole('link', { name: /^Give out/ }).tap();
    await page.getByRole('button', { name: 'Save the file' }).tap();
    const saved = profile('changed.txt');
    await (await coming).saveAs(saved);
    await context.close();
    expect(stickwright(['round', 'merge', saved, '--round', desk.place]).stdout).toContain('[pocket/edited-line]');
  });
});

describe('two hundred rooms', () => {
  test('fit into 700 kB', async () => {
    const large = await deskWithPocket(largeRound());
    expect(statSync(large.file).size).toBeLessThan(700_000);
    // For test/bench/pocket.mjs.
    mkdirSync('out', { recursive: true });
    copyFileSync(large.file, 'out/pocket-200-rooms.html');
    if (canRun) {
      const { context, page, faults } = await openPhone(large.folder, large.file);
      expect(await page.locator('.rooms > li').count()).toBe(200);
      await page.getByLabel(/^Or type the room/).fill('SD75B-2291-0199');
      await page.getByRole('button', { name: 'Find' }).tap();
      await page.getByRole('heading', { level: 1, name: 'Room 10.20' }).waitFor();
      expect(faults).toEqual([]);
      await context.close();
    }
    rmSync(large.folder, { recursive: true, force: true, maxRetries: 5 });
  });
});

interface AxeAnswer {
  readonly violations: readonly { readonly id: string; readonly nodes: readonly { readonly html: string }[] }[];
}

describe('for everybody', () => {
  for (const dark of [false, true]) {
    inBrowser(
      `is for gloves, sun and screen readers, ${dark ? 'dark' : 'light'}: large targets, contrast of 7 to 1`,
      async () => {
        const { context, page } = await openPhone(profile(`axe-${dark}`), desk.file, { dark });
        // One room with its steps, one with a failure and its ladder.
        await page.evaluate(`location.hash = '#room-0'`);
        for (const [label, text] of [
          ['Code on its tag', 'CLY-FTJ'],
          [/^Type the label/, 'K2-second 75/5B'],
        ] as const) {
          await page.getByLabel(label).fill(text);
          await page.getByLabel(label).press('Enter');
        }
        await page.getByRole('button', { name: 'The update runs now' }).tap();
        await page.evaluate(`location.hash = '#room-3'`);
        for (const [label, text] of [
          ['Code on its tag', 'CLY-FTJ'],
          [/^Type the label/, 'K2-second 75/5B'],
        ] as const) {
          await page.getByLabel(label).fill(text);
          await page.getByLabel(label).press('Enter');
        }
        await page.getByRole('button', { name: 'It failed' }).tap();
        await page.getByLabel(/^The exact words/).fill('No update file found');
        await page.getByRole('button', { name: 'Record', exact: true }).tap();
        await page.getByText('Recorded: failed').waitFor();
        const rules = { 'color-contrast-enhanced': { enabled: true }, 'target-size': { enabled: true } };
        for (const hash of ['', '#room-0', '#room-2', '#room-3', '#room-4', '#room-7', '#out', '#about']) {
          await page.evaluate(`location.hash = '${hash}'`);
          await page.locator('main h1, main > p').first().waitFor();
          await page.evaluate(`${axe}; 0`);
          const { violations } = await page.evaluate<AxeAnswer>(
            `axe.run(document, ${JSON.stringify({ rules, resultTypes: ['violations'] })})`,
          );
          expect(violations.map(({ id, nodes }) => [hash, id, nodes[0]?.html])).toEqual([]);
          const small = await page.evaluate<
            string[]
          >(`[...document.querySelectorAll('button, a, input, textarea, summary')]
          .filter((one) => one.checkVisibility() && !one.matches('.behind'))
          .map((one) => [one.closest('label') ?? one, one.textContent])
          .filter(([one]) => { const { width, height } = one.getBoundingClientRect(); return width < 48 || height < 48; })
          .map(([one, text]) => text)`);
          expect(small).toEqual([]);
          expect(await page.evaluate('document.documentElement.scrollWidth')).toBeLessThanOrEqual(360);
        }
        await context.close();
      },
    );
  }
});
