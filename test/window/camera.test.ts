import { cpSync, rmSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import type { Browser, Page } from 'playwright-core';
import { afterAll, beforeAll, describe, expect } from 'vitest';
import { writeParts } from '../../src/core/rounds/pocket/pocket-parts.ts';
import { serialiseRoundRecord } from '../../src/core/rounds/records/own-digests.ts';
import { openRound } from '../../src/io/rounds/open-round.ts';
import { phoneTools } from '../../src/pocket/tools.ts';
import { stickwright } from '../fixtures/command.ts';
import { deskWithPocket, openPhone } from '../fixtures/phone.ts';
import { linesOf, pocketOf } from '../fixtures/pockets.ts';
import { makeScratch } from '../fixtures/volumes/scratch.ts';
import { browserThatSees, drawCode, photoOfPlate, writeFilm } from '../fixtures/window/films.ts';
import { drop, enter, faults, layDesk, type OpenDesk, openDesk, startBrowser } from '../fixtures/window/open-desk.ts';
import { needs } from '../outside/needs.ts';

const check = needs({ chromium: 'chromium', zint: 'zint' });

const label = 'K2-second 75/5B';

describe('codes that the window sees', { timeout: 300_000 }, () => {
  const scratch = makeScratch();
  const at = (name: string): string => join(scratch.path, name);
  let kept: Awaited<ReturnType<typeof deskWithPocket>>;
  let desk: OpenDesk;
  let browser: Browser;
  let page: Page;
  beforeAll(async () => {
    kept = await deskWithPocket();
    scratch.later(() => rmSync(kept.folder, { recursive: true, force: true, maxRetries: 5 }));
    desk = await openDesk(await layDesk(scratch, { sticks: 1 }), ['--round', kept.place]);
    browser = await startBrowser();
    page = await enter(await browser.newContext(), desk);
  }, 300_000);
  afterAll(async () => {
    await browser?.close();
    await desk?.end();
    scratch.undo();
  });

  /** The same person's window in a browser that sees this film: an address is good for one browser only. */
  async function windowThatSees(film: string): Promise<Page> {
    const seeing = await browserThatSees(film);
    const context = await seeing.newContext({ storageState: await page.context().storageState() });
    const window = await context.newPage();
    await window.goto(desk.origin);
    await window.getByRole('heading', { name: 'Job slip' }).waitFor();
    return window;
  }

  const results = async (on: Page): Promise<void> => {
    await on.getByRole('link', { name: 'Round' }).click();
    await on.getByRole('link', { name: 'Results' }).click();
    await on.getByRole('button', { name: 'Film the codes on a phone' }).waitFor();
  };

  /** What the round in this folder has from Ada's phone, line for line. */
  const ofAda = async (place: string): Promise<readonly string[]> =>
    (await openRound(place, 'x').records()).records
      .filter(({ who }) => who === 'Ada')
      .map(serialiseRoundRecord)
      .toSorted();

  check(
    'takes in a phone’s entries from its screen, by film and screenshots in any order, as from its file',
    async () => {
      const { codes, file } = await entriesOnPhone(kept, at('phone'), ['Library', 'Assembly hall', 'Room 2.15']);
      const other = at('other.round');
      cpSync(kept.place, other, { recursive: true });
      expect(stickwright(['round', 'merge', file, '--round', other]).exitCode).toBe(0);
      const wanted = await ofAda(other);
      expect([wanted.length, codes.length]).toEqual([3, 3]);
      const [first, second, third] = codes as [Buffer, Buffer, Buffer];

      // The camera sees the last and the first; the one in the middle comes as a screenshot.
      const window = await windowThatSees(writeFilm(at('codes.mjpeg'), [third, first]));
      try {
        await results(window);
        await window.getByRole('button', { name: 'Film the codes on a phone' }).click();
        await window.getByText('2 of 3 are here. Still missing: 2.').waitFor();
        expect(await faults(window)).toEqual([]);
        expect(await ofAda(kept.place)).toEqual([]);
        writeFileSync(at('second.jpg'), second);
        await drop(window, at('second.jpg'));
        await window.getByText('3 lines taken in, 0 known already').waitFor();
        expect(await ofAda(kept.place)).toEqual(wanted);
      } finally {
        await window.context().browser()?.close();
      }
    },
  );

  check('says what is missing, foreign or no code at all, as the command does', async () => {
    await results(page);
    const foreign = linesOf(pocketOf(kept.round, [], [], { number: 9, who: 'Bo' }), [{}]);
    const [part = ''] = writeParts(foreign, 900, phoneTools);
    await drop(page, drawCode(scratch.path, 'foreign', 'qr', part));
    await page.getByText('pocket/foreign-line').waitFor();
    await page.getByText(/^In codes \w{4} of a phone, part 1 of 1 is of file POCKET09\./).waitFor();
    const ofTwo = linesOf(pocketOf(kept.round, [], [], { number: 9, who: 'Bo' }), [{}, {}]);
    const parts = writeParts(ofTwo, 10, phoneTools);
    expect(parts).toHaveLength(2);
    await drop(page, drawCode(scratch.path, 'half', 'qr', parts[1] ?? ''));
    await page.getByText('1 of 2 are here. Still missing: 1.').waitFor();
    await page.getByRole('button', { name: 'Take in what is here' }).click();
    await page.getByText('pocket/missing-parts').waitFor();
    await drop(page, drawCode(scratch.path, 'label', 'code128', label));
    await page.getByText('A code was read that is none of a phone’s entries.').waitFor();
    writeFileSync(at('empty.png'), await page.locator('header').first().screenshot());
    await drop(page, at('empty.png'));
    await page.getByText('No code was found in empty.png.').waitFor();
    expect(await ofAda(kept.place)).toHaveLength(3);
  });

  check('reads a plate’s bars into the label, and trusts them no more than what is typed', async () => {
    const bars = drawCode(scratch.path, 'bars', 'code128', label);
    const film = writeFilm(at('plate.mjpeg'), [await photoOfPlate(browser, at('plate.jpg'), [bars])]);
    const window = await windowThatSees(film);
    try {
      await window.getByRole('button', { name: 'Read its barcode with the camera' }).click();
      const field = window.getByLabel('The label on its back');
      await expect.poll(() => field.inputValue()).toBe(label);
      expect(await faults(window)).toEqual([]);
      const onward = window.getByRole('button', { name: 'Go on', exact: true });
      expect(await onward.count()).toBe(0);
      await window.getByLabel('The same once more').fill(label);
      await onward.waitFor();
      await window.getByRole('button', { name: 'Take a new slip' }).click();
    } finally {
      await window.context().browser()?.close();
    }
  });

  check('reads what plates carry from a picture of them; of several codes a person says which', async () => {
    await page.getByRole('link', { name: 'Slip' }).click();
    const field = page.getByLabel('The label on its back');
    // What no family reads is judged like what is typed; a misread stays one.
    for (const [kind, text] of [
      ['code39', 'VX+098+AM'],
      ['qr', 'K2-second 75/SB'],
      ['data-matrix', label],
    ] as const) {
      await drop(page, drawCode(scratch.path, kind, kind, text));
      await expect.poll(() => field.inputValue()).toBe(text);
    }
    await drop(page, at('qr.png'));
    await page.getByText('label/possible-misread').first().waitFor();
    const serial = drawCode(scratch.path, 'serial', 'code128', 'SN 20260114');
    await photoOfPlate(browser, at('two.jpg'), [serial, at('code39.png')]);
    await drop(page, at('two.jpg'));
    await page.getByText('There are several codes. Which one is the model?').waitFor();
    expect(await faults(page)).toEqual([]);
    await page.getByRole('button', { name: 'VX+098+AM', exact: true }).click();
    await expect.poll(() => field.inputValue()).toBe('VX+098+AM');
  });

  // npm's package has no decoder; that one answer of the desk is all that is taken out here.
  check('says that the reader is not here, and does not blame the picture', async () => {
    const context = await browser.newContext({ storageState: await page.context().storageState() });
    try {
      const window = await context.newPage();
      await window.route('**/code-reader.wasm', (route) => route.fulfill({ status: 404 }));
      await window.goto(desk.origin);
      await window.getByRole('heading', { name: 'Job slip' }).waitFor();
      await drop(window, at('code39.png'));
      await window.getByText('The reader of codes is not in this copy; the download has it.').waitFor();
    } finally {
      await context.close();
    }
  });
});

/** ROOMS are skipped on a phone, for a long reason each; pictures of the codes that its screen shows, and its file. */
async function entriesOnPhone(
  { file }: { readonly file: string },
  folder: string,
  rooms: readonly string[],
): Promise<{ readonly codes: readonly Buffer[]; readonly file: string }> {
  const { context, page } = await openPhone(folder, file);
  try {
    for (const room of rooms) {
      await page.getByRole('link', { name: 'Rooms', exact: true }).tap();
      await page.getByRole('link', { name: new RegExp(`^${room}`) }).tap();
      await page.locator('#outcome').getByRole('button', { name: 'Skipped' }).tap();
      const reason = Array.from({ length: 60 }, (_, word) => `${room.length * 7919 * (word + 13)}`).join(' ');
      await page.getByLabel('Why was nothing done?').fill(reason);
      await page.getByRole('button', { name: 'Record', exact: true }).tap();
      await page.locator('header .stamp', { hasText: 'skipped' }).waitFor();
    }
    await page.getByRole('link', { name: /^Give out/ }).tap();
    const coming = page.waitForEvent('download');
    await page.getByRole('button', { name: 'Save the file', exact: true }).tap();
    const saved = join(folder, 'saved.txt');
    await (await coming).saveAs(saved);
    const codes: Buffer[] = [];
    for (let number = 1; number <= rooms.length; number += 1) {
      await page.getByText(`Code ${number} of ${rooms.length}`).waitFor();
      await page.locator('#codes').scrollIntoViewIfNeeded();
      codes.push(await page.screenshot({ type: 'jpeg', quality: 85 }));
      await page.getByRole('button', { name: 'After', exact: true }).tap();
    }
    return { codes, file: saved };
  } finally {
    await context.close();
  }
}
