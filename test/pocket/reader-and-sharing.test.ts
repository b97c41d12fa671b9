import { readFileSync, rmSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import type { Page } from 'playwright-core';
import { afterAll, beforeAll, describe, expect } from 'vitest';
import { writeCardCode } from '../../src/core/rounds/records/card-code.ts';
import { stickwright } from '../fixtures/command.ts';
import { deskWithPocket, openPhone } from '../fixtures/phone.ts';
import { missingPrograms, needs } from '../outside/needs.ts';

// Two stand-ins. Chromium on Linux has BarcodeDetector by a flag and reads no form of code with it (asked on 156: an
// empty list), and nobody to share with. These behave as the documents say: Accelerated Shape Detection in Images, 2.3,
// and Web Share, 2.1. What a phone's own does with a plate is not shown here.
const reader = (forms: readonly string[]): string => `globalThis.BarcodeDetector = class {
  static getSupportedFormats() { return Promise.resolve(${JSON.stringify(forms)}); }
  detect() {
    const { inSight } = globalThis;
    if (inSight === undefined) return Promise.reject(new DOMException('no', 'NotAllowedError'));
    return Promise.resolve(inSight.map((rawValue) => ({ rawValue, format: 'code_128' })));
  }
};`;
const sharing = (takesFiles: boolean): string => `
  Navigator.prototype.canShare = (what) => ${takesFiles} || what.files === undefined;
  Navigator.prototype.share = async ({ files: [file] }) => {
    if (globalThis.refusal !== undefined) throw new DOMException('no', globalThis.refusal);
    globalThis.shared = { name: file.name, type: file.type, text: await file.text() };
  };`;

const inBrowser = needs({ chromium: 'chromium' });
let desk: Awaited<ReturnType<typeof deskWithPocket>>;
beforeAll(async () => {
  if (missingPrograms({ chromium: 'chromium' }) === '') desk = await deskWithPocket();
}, 120_000);
afterAll(() => rmSync(desk?.folder ?? '', { recursive: true, force: true, maxRetries: 5 }));

async function openWith(before: string, name: string) {
  const phone = await openPhone(join(desk.folder, name), desk.file, { before });
  await phone.page.goto(phone.page.url()); // what runs before the page does so from the second page on
  return phone;
}
const openFirst = (page: Page): Promise<void> => page.getByRole('link', { name: /^Room 2.14/ }).tap();

describe("the plate by the browser's own reader", { timeout: 120_000 }, () => {
  inBrowser('is scanned where it reads something, compared as if typed, and never taken from a card', async () => {
    const { context, page, faults } = await openWith(reader(['code_128', 'qr_code']), 'reader');
    await openFirst(page);
    const plate = page.locator('#plate');
    await plate.getByRole('button', { name: 'Scan the plate' }).waitFor();
    const photo = join(desk.folder, 'plate.png');
    writeFileSync(photo, await page.locator('#plate h2').screenshot());
    const show = async (inSight: readonly string[] | undefined): Promise<void> => {
      await page.evaluate(`globalThis.inSight = ${JSON.stringify(inSight)}`);
      await plate.locator('input[type=file]').setInputFiles(photo);
    };
    await show([]);
    await plate.getByText('No code was found in that photo.').waitFor();
    await show(['VX+098+AM']);
    await plate.getByText('STOP. This panel has another label than the list').waitFor();
    await show(undefined);
    await plate.getByText('No code was found in that photo.').waitFor();
    await show([writeCardCode({ load: 'A', stick: 'CLY-FTJ', rooms: ['Room 2.14'], more: 0 })]);
    await plate.getByText('That is the code of a card or a tag, not of the plate.').waitFor();
    await show(['K2-second 75/5B']);
    await plate.getByText('The plate agrees with the list').waitFor();
    expect(faults).toEqual([]);
    await context.close();
  });

  inBrowser('is not offered where there is the name and no reader behind it', async () => {
    for (const [name, before] of [
      ['no-forms', reader([])],
      ['unknown-forms', reader(['unknown'])],
      ['none', '0'],
    ] as const) {
      const { context, page } = await openWith(before, name);
      await openFirst(page);
      await page.getByLabel(/^Type the label/).waitFor();
      expect(await page.getByRole('button', { name: 'Scan the plate' }).count()).toBe(0);
      await context.close();
    }
  });
});

describe('sharing', { timeout: 120_000 }, () => {
  inBrowser('hands over the file that the desk takes, and says so when it was refused or called off', async () => {
    const { context, page } = await openWith(sharing(true), 'share');
    await page.getByText('Files can be shared.').waitFor();
    await openFirst(page);
    await page.getByRole('button', { name: 'Skipped' }).tap();
    await page.getByLabel('Why was nothing done?').fill('an exam');
    await page.getByRole('button', { name: 'Record', exact: true }).tap();
    await page.getByRole('link', { name: 'Give out (1)' }).tap();
    for (const refusal of ['NotAllowedError', 'AbortError']) {
      await page.evaluate(`globalThis.refusal = '${refusal}'`);
      await page.getByRole('button', { name: 'Share the file' }).tap();
      await page.getByText('It was not shared. Save it, or copy the text.').waitFor();
    }
    await page.evaluate('globalThis.refusal = undefined');
    await page.getByRole('button', { name: 'Share the file' }).tap();
    await page.getByText('It was handed over.').waitFor();
    const shared = await page.evaluate<{ name: string; type: string; text: string }>('globalThis.shared');
    expect([shared.name, shared.type]).toEqual([expect.stringMatching(/^round-Ada-\w+\.txt$/), 'text/plain']);
    const file = join(desk.folder, shared.name);
    writeFileSync(file, shared.text);
    expect(stickwright(['round', 'merge', file, '--round', desk.place]).stdout).toContain('MERGED: 1 new line.');
    expect(readFileSync(file, 'utf8')).toContain('an exam');
    await context.close();
  });

  inBrowser('is not offered where no file can be shared', async () => {
    const { context, page } = await openWith(sharing(false), 'no-files');
    await page.getByText('No sharing. Save the file, copy the text, or show codes.').waitFor();
    await context.close();
  });
});
