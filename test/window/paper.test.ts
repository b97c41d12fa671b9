import { rmSync } from 'node:fs';
import { join } from 'node:path';
import type { Browser, Page } from 'playwright-core';
import { afterAll, beforeAll, describe, expect } from 'vitest';
import { readCardCode } from '../../src/core/rounds/records/card-code.ts';
import { deskWithPocket } from '../fixtures/phone.ts';
import { makeScratch } from '../fixtures/volumes/scratch.ts';
import { enter, layDesk, type OpenDesk, openDesk, startBrowser } from '../fixtures/window/open-desk.ts';
import { readPdf, scanPdf } from '../outside/in-chromium.ts';
import { needs } from '../outside/needs.ts';

// Chromium prints what the window opens; poppler's pdftotext and zbar's zbarimg read it.
const check = needs({
  chromium: 'chromium',
  pdftotext: 'poppler-utils',
  pdftoppm: 'poppler-utils',
  zbarimg: 'zbar-tools',
});

describe('what the window prints', { timeout: 300_000 }, () => {
  const scratch = makeScratch();
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
    await page.getByRole('link', { name: 'Round' }).click();
    await page.getByRole('link', { name: 'Paper' }).click();
  }, 300_000);
  afterAll(async () => {
    await browser?.close();
    await desk?.end();
    scratch.undo();
  });

  /** Opens a sheet by its button, and prints it as the browser's own dialog would; the text of its pages, and codes. */
  async function printed(button: string): Promise<{ pages: readonly string[]; codes: readonly string[] }> {
    const opened = page.context().waitForEvent('page');
    await page.getByRole('button', { name: button, exact: true }).click();
    const sheet = await opened;
    await sheet.waitForURL(/\/paper\//);
    await sheet.waitForLoadState();
    const path = join(scratch.path, `${button}.pdf`);
    await sheet.pdf({ path, preferCSSPageSize: true, printBackground: true });
    await sheet.close();
    return { pages: readPdf(path).pages, codes: scanPdf(path, 200).flat() };
  }
  const squeezed = (pages: readonly string[]): string => pages.join(' ').replace(/\s+/g, ' ');

  check('a card for each room that a stick goes to, with the codes that find it again', async () => {
    const { pages, codes } = await printed('A card for each room');
    const text = squeezed(pages);
    for (const words of ['Room 2.14', 'K2-second 75/5B', 'reed.1717', 'CLY-FTJ', 'Assembly hall', 'D. Harrow'])
      expect(text, words).toContain(words);
    expect(text).toMatch(/WIPE/);
    const rooms = codes.flatMap((code) => readCardCode(code)?.rooms ?? []);
    expect(rooms).toEqual(expect.arrayContaining(['Room 2.14', 'Room 2.15', 'Assembly hall']));
  });

  check('a tag for each stick: its code, its label, its mode, what it wipes', async () => {
    const { pages, codes } = await printed('A tag for each stick');
    const text = squeezed(pages);
    for (const words of ['CLY-FTJ', 'K7M-R4X', 'K2-second 75/5B']) expect(text, words).toContain(words);
    expect(text).toMatch(/WIPES/);
    expect(codes.map((code) => readCardCode(code)?.stick)).toEqual(expect.arrayContaining(['CLY-FTJ', 'K7M-R4X']));
  });

  check('the cover: whose round, how many rooms, which sticks, and what waits', async () => {
    const text = squeezed((await printed('The cover')).pages);
    for (const words of ['Room 2.14', 'Music 1', 'Library']) expect(text, words).toContain(words);
  });

  check('the report: every room with what became of it', async () => {
    const text = squeezed((await printed('The report')).pages);
    for (const { room } of kept.round.rooms) expect(text, room).toContain(room);
  });
});
