import { randomBytes } from 'node:crypto';
import { readdirSync, readFileSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import type { Browser, Page } from 'playwright-core';
import { afterAll, afterEach, beforeAll, beforeEach, describe, expect } from 'vitest';
import { stickwright } from '../fixtures/command.ts';
import { mtools } from '../fixtures/volumes/mtools.ts';
import { makeScratch, run } from '../fixtures/volumes/scratch.ts';
import {
  choosePackage,
  drop,
  enter,
  faults,
  goOn,
  layDesk,
  type OpenDesk,
  openDesk,
  sayItIsDark,
  sayItRuns,
  showPlan,
  startBrowser,
  tickSticks,
  writeLabel,
} from '../fixtures/window/open-desk.ts';
import { needs } from '../outside/needs.ts';

const check = needs({ chromium: 'chromium', mcopy: 'mtools', zip: 'zip' });
const fits = /reed\.1717_5B_second_K2\.zip/;
const label = 'K2-second 75/5B';

describe('the slip', { timeout: 300_000 }, () => {
  const scratch = makeScratch();
  let browser: Browser;
  let desk: OpenDesk;
  let page: Page;
  beforeAll(async () => {
    desk = await openDesk(await layDesk(scratch, { sticks: 4 }));
    browser = await startBrowser();
    page = await enter(await browser.newContext({ viewport: { width: 1280, height: 900 } }), desk);
  }, 300_000);
  beforeEach(async () => {
    await page.getByRole('button', { name: 'Take a new slip' }).click();
    await page.getByLabel('The label on its back').waitFor();
  });
  afterEach(async () => {
    // Whatever a test left open is no part of the next one.
    const no = page.getByRole('button', { name: 'No, write nothing' });
    if ((await no.count()) > 0) await no.click();
  });
  afterAll(async () => {
    await browser?.close();
    await desk?.end();
    scratch.undo();
  });

  const stick = (at: number): string => desk.sticks[at - 1] ?? '';
  /** As `mdir` lists it; in a volume behind a partition table. */
  const inStick = (at: number): string => mtools('mdir', `${stick(at)}@@1048576`, '-/', '-b', '::');
  const older = (): string => join(scratch.path, 'maker', 'reed.608_5B_second_K2.zip');
  const put = (at: number, file: string): string => mtools('mcopy', `${stick(at)}@@1048576`, file, '::');

  check('a wrong variant: nothing that would be for another panel can be chosen, and the part is said', async () => {
    await writeLabel(page, 'K3-second 75/5B');
    await sayItRuns(page);
    await page.getByText('None of the packages at hand fits this label.').waitFor();
    await page.getByText(/^Nearly, but for another panel/).click();
    expect(await page.locator('.near-misses li').first().textContent()).toContain('but the label says K3');
    expect(await page.locator('.packages input').count()).toBe(0);
    expect(await faults(page)).toEqual([]);
  });

  check('says what to do where it may not run its script', async () => {
    const context = await browser.newContext({ javaScriptEnabled: false });
    const bare = await context.newPage();
    await bare.goto(desk.origin);
    expect(await bare.locator('noscript, body').first().textContent()).toContain('stickwright guide');
    await bare.getByRole('heading', { name: 'This page needs its script' }).waitFor();
    await context.close();
  });

  check('a misread is marked at its letter, and nothing goes on from it', async () => {
    const first = page.getByLabel('The label on its back');
    await first.fill('K2-second 75/SB');
    expect(await page.locator('.plate-shown mark').allTextContents()).toEqual(['S']);
    await page.getByText('label/possible-misread').first().waitFor();
    await page.getByLabel('The same once more').fill('K2-second 75/SB');
    expect(await page.getByRole('button', { name: 'Go on', exact: true }).count()).toBe(0);
    expect(await faults(page)).toEqual([]);
    // Two people who read it differently: the letter is shown, and neither wins.
    await first.fill(label);
    await page.getByLabel('The same once more').fill('K2-second 75/SB');
    expect(await page.locator('.compared mark').allTextContents()).toEqual(['5', 'S']);
    expect(await page.getByRole('button', { name: 'Go on', exact: true }).count()).toBe(0);
  });

  check('takes the exact form over with one press, and asks for the second reading all the same', async () => {
    const first = page.getByLabel('The label on its back');
    await first.fill('"K2-second 75/5B"');
    await page.getByRole('button', { name: /take that$/ }).click();
    expect(await first.inputValue()).toBe(label);
    expect(await page.getByRole('button', { name: 'Go on', exact: true }).count()).toBe(0);
    await page.getByLabel('The same once more').fill(label);
    await goOn(page);
    await page.getByRole('group', { name: 'Does the panel start' }).waitFor();
  });

  check('a plate that is pasted whole offers its model line', async () => {
    await page.evaluate(`(() => {
      const clipboardData = new DataTransfer();
      clipboardData.setData('text', 'Model: K2-second 75/5B\\nInput: 100-240V~ 50/60Hz\\nS/N 20260114');
      const pasted = new ClipboardEvent('paste', { clipboardData, bubbles: true, cancelable: true });
      document.querySelector('input.plate').dispatchEvent(pasted);
    })()`);
    const lines = page.getByRole('group', { name: /Which line is the model/ });
    await lines.getByRole('radio', { name: label, exact: true }).check();
    expect(await faults(page)).toEqual([]);
    await goOn(page);
    expect(await page.locator('.entry').first().textContent()).toContain(`${label} Sedge classroom panels`);
  });

  check('what lies on the stick is set aside when somebody chose that, and not before', async () => {
    put(1, older());
    await writeLabel(page, label);
    await sayItRuns(page);
    await choosePackage(page, fits);
    await tickSticks(page, /stick-1\.img/);
    await showPlan(page);
    await page.getByRole('img', { name: 'NOT READY' }).waitFor();
    expect(await faults(page)).toEqual([]);
    await page
      .getByRole('radio', { name: /^Move them into a dated folder/ })
      .first()
      .check();
    await showPlan(page);
    await page.getByRole('row', { name: /set aside/ }).waitFor();
    await page.getByRole('button', { name: 'Write as shown' }).click();
    await page.getByRole('img', { name: 'READY', exact: true }).waitFor();
    expect(inStick(1)).toMatch(/set-aside-\w+\/reed\.608_5B_second_K2\.zip\.set-aside/i);
  });

  check('a wipe is agreed to by the label, typed; a tag is printed from an address that is good once', async () => {
    await writeLabel(page, label);
    await sayItIsDark(page);
    await choosePackage(page, fits);
    await tickSticks(page, /stick-3\.img/);
    const before = readFileSync(stick(3));
    await showPlan(page);
    const agreement = page.getByRole('form', { name: 'Agreement' });
    const press = agreement.getByRole('button', { name: 'Write the stick that wipes' });
    expect(await press.isDisabled()).toBe(true);
    expect(await faults(page)).toEqual([]);
    await agreement.getByRole('textbox').fill('K3-second 75/5B');
    await press.click();
    await page.getByText("That is not the label on the panel's plate.").waitFor();
    expect(readFileSync(stick(3)).equals(before)).toBe(true);
    await agreement.getByRole('textbox').fill(label);
    await press.click();
    // Nobody knows what runs on a dark panel: that much stays open.
    await page.getByRole('img', { name: 'UNPROVEN', exact: true }).waitFor();
    expect(await faults(page)).toEqual([]);
    const code = (await page.locator('.stick-code b').first().textContent()) ?? '';
    expect(stickwright(['verify', stick(3), '--label', label, '--mode', 'recovery']).stdout).toContain(code);
    const [sheet] = await Promise.all([
      page.context().waitForEvent('page'),
      page.getByRole('button', { name: 'Tag to print' }).click(),
    ]);
    await sheet.getByText(code).first().waitFor();
    expect(await sheet.getByText('WIPES THE PANEL').count()).toBeGreaterThan(0);
    // The style is there, though nothing but this very style may be: a hash, and no script at all.
    expect(await sheet.evaluate('getComputedStyle(document.querySelector(".tag")).borderTopStyle')).not.toBe('none');
    const address = sheet.url();
    expect((await sheet.goto(address))?.status()).toBe(403);
    await sheet.close();
    await page.getByRole('button', { name: 'Let go of it' }).click();
    await page.getByText('Nothing to let go of: it is a file, and no stick.').waitFor();
    await page.getByText('At the panel, step by step').click();
    await page.getByText('Everything on the panel is wiped.', { exact: true }).waitFor();
  });

  check('a panel that no family knows: one is made of its label and its package, there and then', async () => {
    const zip = join(scratch.path, 'quartz_qb_r2_20240117.zip');
    const inside = join(scratch.path, 'quartz.img');
    writeFileSync(inside, randomBytes(20_000));
    run('zip', '-q', '-j', zip, inside);
    await page.getByLabel('The label on its back').fill('75:QB by R2');
    await page.getByLabel('The same once more').fill('75:QB by R2');
    await goOn(page);
    await sayItRuns(page, '');
    await drop(page, zip);
    await page.getByRole('button', { name: 'Read it and put it on the shelf' }).click();
    await page.getByRole('radio', { name: /quartz_qb/ }).check();
    await page.getByRole('button', { name: 'Note it' }).click();
    await page.getByLabel(/^Where did you read that/).fill('release note');
    await page.getByRole('button', { name: 'Note it' }).click();
    await page.getByRole('button', { name: 'Write the family file' }).click();
    await page.getByRole('radio', { name: /quartz_qb.*✓ fits/ }).waitFor();
    await goOn(page);
    await tickSticks(page, /stick-4\.img/);
    await showPlan(page);
    await page.getByRole('form', { name: 'Agreement' }).waitFor();
    expect(readdirSync('samples/families')).not.toContain('quartz.yaml');
    expect(readFileSync(join(scratch.path, 'home', 'families', 'quartz.yaml'), 'utf8')).toContain('release note');
  });

  check('everything by keyboard, on a narrow screen, from the label to the verdict', async () => {
    await page.setViewportSize({ width: 360, height: 740 });
    put(2, older());
    const fitsScreen = async () =>
      expect(await page.evaluate('document.documentElement.scrollWidth')).toBeLessThanOrEqual(360);
    const { keyboard } = page;
    await page.getByLabel('The label on its back').focus();
    await keyboard.type(label);
    await keyboard.press('Tab');
    await keyboard.type(label);
    await fitsScreen();
    await keyboard.press('Enter');
    const focusIsOn = (name: string) => page.locator(`:is(input[name="${name}"], [id="${name}"]):focus`).waitFor();
    await focusIsOn('way.starts');
    await keyboard.press('Space');
    await page.getByRole('group', { name: 'What does its own update' }).waitFor();
    await keyboard.press('Tab');
    await keyboard.press('Space');
    await page.getByRole('group', { name: 'Can somebody open its settings' }).waitFor();
    await keyboard.press('Tab');
    await keyboard.press('Space');
    await fitsScreen();
    await keyboard.press('Tab');
    await keyboard.type('reed.746');
    await keyboard.press('Enter');
    await focusIsOn('package');
    await keyboard.press('Space');
    await fitsScreen();
    await keyboard.press('Enter');
    await focusIsOn('stick');
    await page.getByRole('checkbox', { name: /stick-2\.img/ }).focus();
    await keyboard.press('Space');
    await fitsScreen();
    await keyboard.press('Enter');
    await focusIsOn('agreement-or-next');
    await keyboard.press('Enter');
    await page.getByText('stick/other-firmware').first().waitFor();
    // Accepted with a reason: it is written down, and every later verify shows it.
    await page.getByText('Accept it, with a reason').first().focus();
    await keyboard.press('Enter');
    await keyboard.press('Tab');
    await keyboard.type('The panel takes the newest one');
    expect(await faults(page)).toEqual([]);
    await page.getByRole('button', { name: /what would be written$/ }).focus();
    await keyboard.press('Enter');
    const press = page.getByRole('button', { name: 'Write as shown' });
    await press.waitFor();
    expect(await page.getByRole('form', { name: 'Agreement' }).textContent()).toContain('The panel takes the newest');
    await fitsScreen();
    await press.focus();
    await keyboard.press('Enter');
    await page.locator('.stick-code').waitFor();
    await fitsScreen();
    expect(await faults(page)).toEqual([]);
    expect(stickwright(['verify', stick(2), '--label', label]).stdout).toContain('The panel takes the newest one');
    await page.setViewportSize({ width: 1280, height: 900 });
  });
});
