import { existsSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import type { Browser, Page } from 'playwright-core';
import { afterAll, beforeAll, describe, expect } from 'vitest';
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

describe('families in the window', () => {
  const scratch = makeScratch();
  const folder = join(scratch.path, 'home', 'families');
  let browser: Browser;
  let desk: OpenDesk;
  let page: Page;
  beforeAll(async () => {
    const laid = await layDesk(scratch, { sticks: 1 });
    for (const other of ['lantern', 'basalt']) rmSync(join(folder, `${other}.yaml`), { force: true });
    desk = await openDesk(laid);
    browser = await startBrowser();
    page = await enter(await browser.newContext(), desk);
    await turnTo(page, 'Families');
  });
  afterAll(async () => {
    await browser?.close();
    await desk?.end();
    scratch.undo();
  });

  check('shows each with its examples, and says which mode wipes', async () => {
    const plate = page.getByRole('article', { name: /Sedge/i });
    await plate.waitFor();
    expect(await plate.textContent()).toContain('K2-second 75/5B');
    expect(await plate.textContent()).toContain('Everything on the panel is wiped.');
    expect(await faults(page)).toEqual([]);
  });

  check("takes a colleague's file that is dropped, after showing it, and none that is wrong", async () => {
    const lantern = 'samples/families/lantern.yaml';
    const broken = join(scratch.path, 'broken.yaml');
    writeFileSync(broken, readFileSync(lantern, 'utf8').replace('schema: 1', 'schema: 1\nsize: [75'));
    await drop(page, broken);
    await page.getByRole('heading', { name: 'What broken.yaml says' }).waitFor();
    await page.getByText('family/file-unusable').or(page.locator('.given-family .finding.stop')).first().waitFor();
    expect(await page.getByRole('button', { name: 'Copy it to this desk' }).count()).toBe(0);
    await drop(page, lantern);
    await page.getByRole('heading', { name: 'What lantern.yaml says' }).waitFor();
    expect(existsSync(join(folder, 'lantern.yaml'))).toBe(false);
    expect(await faults(page)).toEqual([]);
    await page.getByRole('button', { name: 'Copy it to this desk' }).click();
    await expect.poll(() => existsSync(join(folder, 'lantern.yaml'))).toBe(true);
    expect(readFileSync(join(folder, 'lantern.yaml'), 'utf8')).toBe(readFileSync(lantern, 'utf8'));
    await page.getByText('2 families of panels').waitFor();
  });

  check('makes one by example, and shows how each is read while it is typed', async () => {
    await page.getByText('Make a family from what lies on the table').click();
    /** Answers the question that is open; undefined: as it is proposed there. */
    const answer = async (question: string, text?: string): Promise<void> => {
      const field = page.locator('.family-entry').last().getByRole('textbox', { name: question });
      await field.waitFor();
      if (text === undefined) await page.getByRole('button', { name: `Note it: ${question}` }).click();
      else await field.fill(text);
    };
    await answer('Short name', 'quartz');
    await answer('In words');
    await answer('Label 1', 'QZ-75-A');
    await answer('its parts', 'size=75, make=A');
    await answer('Label 2', 'QZ-86-B');
    await answer('its parts', 'size=86, make=B');
    const readings = page.getByRole('table', { name: 'How every example is read so far' });
    await readings.getByText('size 86, make B').waitFor();
    const second = page.getByRole('textbox', { name: 'its parts' }).nth(1);
    await second.fill('size=99, make=B');
    await page.locator('.family-entry').getByText('✗').waitFor();
    await second.fill('size=86, make=B');
    await answer('Label 3');
    await answer('Package name 1', 'quartz_75_A_20231204.zip');
    await answer('its parts, and its build', 'size=75, make=A, build=20231204');
    await answer('Package name 2');
    await answer('Where did you read it', 'release note');
    expect(await faults(page)).toEqual([]);
    await page.getByRole('button', { name: 'Show the family that this makes' }).click();
    await page.getByRole('button', { name: 'Write it for this desk' }).click();
    await page.getByRole('article', { name: /quartz/ }).waitFor();
    const read = stickwright(['label', 'QZ-75-B', '--family', folder]);
    expect(read.stdout).toContain('quartz');
    await page.getByText('Nothing from elsewhere confirms it yet.').waitFor();
  });
});
