import { cpSync, readdirSync, readFileSync, statSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import type { Browser, Page } from 'playwright-core';
import { afterAll, beforeAll, describe, expect } from 'vitest';
import { stickwright } from '../fixtures/command.ts';
import { workbookOf } from '../fixtures/rooms/make-workbook.ts';
import { makeSigner, signPackage } from '../fixtures/update-packages/sign-package.ts';
import { mtools } from '../fixtures/volumes/mtools.ts';
import { makeScratch, run } from '../fixtures/volumes/scratch.ts';
import {
  drop,
  enter,
  faults,
  goOn,
  layDesk,
  type OpenDesk,
  openDesk,
  sayItRuns,
  showPlan,
  startBrowser,
  tickSticks,
  turnTo,
  writeLabel,
} from '../fixtures/window/open-desk.ts';
import { needs } from '../outside/needs.ts';

const check = needs({ chromium: 'chromium', mcopy: 'mtools', openssl: 'openssl', sha256sum: 'coreutils' });
const name = 'reed.1717_5B_second_K2.zip';
const label = 'K2-second 75/5B';

/** Label and package of an invented maker, as `family new` takes them; one pair proves nothing about itself. */
const quartz = `family: quartz
title: Quartz hall panels
labels:
  - { text: "75:QB by R2", size: "75", series: QB, factory: R2 }
packages:
  - { text: quartz_qb_r2_20240117.zip, series: QB, factory: R2, build: "20240117" }
`;

/** A workbook of two sheets, of which the second holds the rooms. */
const workbook = (): Promise<Buffer> => {
  const main = 'http://schemas.openxmlformats.org/spreadsheetml/2006/main';
  const relations = 'http://schemas.openxmlformats.org/officeDocument/2006/relationships';
  return workbookOf({
    rows: [['Tallow House 1', label, 'reed.746'].map((text) => ({ text }))],
    parts: {
      'xl/workbook.xml': `<workbook xmlns="${main}" xmlns:r="${relations}"><sheets><sheet name="Notes" sheetId="1" r:id="n"/><sheet name="Rooms of autumn" sheetId="2" r:id="a"/></sheets></workbook>`,
      'xl/_rels/workbook.xml.rels': `<Relationships xmlns="http://schemas.openxmlformats.org/package/2006/relationships"><Relationship Id="a" Type="${relations}/worksheet" Target="/xl/sheet.xml"/><Relationship Id="n" Type="${relations}/worksheet" Target="/xl/notes.xml"/><Relationship Id="b" Type="${relations}/styles" Target="styles.xml"/></Relationships>`,
      'xl/notes.xml': `<worksheet xmlns="${main}"><sheetData><row><c t="inlineStr"><is><t>Ask the caretaker for the keys</t></is></c></row></sheetData></worksheet>`,
    },
  });
};

interface Listed {
  readonly line: number;
  readonly verdict: string;
  readonly findings: readonly { readonly code: string }[];
}

describe('what commands take as words, in the window', { timeout: 300_000 }, () => {
  const scratch = makeScratch();
  const families = join(scratch.path, 'home', 'families');
  const folder = join(scratch.path, 'autumn.round');
  let browser: Browser;
  let desk: OpenDesk;
  let page: Page;
  beforeAll(async () => {
    const laid = await layDesk(scratch, { sticks: 4 });
    const examples = join(scratch.path, 'quartz-examples.yaml');
    writeFileSync(examples, quartz);
    expect(stickwright(['family', 'new', '--from', examples, '--to', families, '--yes']).exitCode).toBe(0);
    desk = await openDesk(laid, ['--round', folder]);
    browser = await startBrowser();
    page = await enter(await browser.newContext({ viewport: { width: 1280, height: 900 } }), desk);
  }, 300_000);
  afterAll(async () => {
    await browser?.close();
    await desk?.end();
    scratch.undo();
  });

  const maker = (one: string): string => join(scratch.path, 'maker', one);
  const stick = (at: number): string => desk.sticks[at - 1] ?? '';
  const put = (at: number, file: string): string => mtools('mcopy', `${stick(at)}@@1048576`, file, '::');
  const fitsScreen = async (): Promise<void> => {
    await page.setViewportSize({ width: 360, height: 740 });
    expect(await page.evaluate('document.documentElement.scrollWidth')).toBeLessThanOrEqual(360);
    await page.setViewportSize({ width: 1280, height: 900 });
  };
  /** What a finding on the page would have somebody type. */
  const commandsShown = async (): Promise<readonly string[]> => {
    const told = await page.locator('main .finding').allTextContents();
    return told.flatMap((text) => text.match(/ --[a-z]+|(?<!\/)\bstickwright [a-z]+/g) ?? []);
  };

  check('its script and style are at most 150 KB, as a browser takes them', () => {
    const bytes = ['page.js.br', 'page.css.br'].map((file) => statSync(join('dist/page', file)).size);
    expect(bytes[0]).toBeGreaterThan(50_000);
    expect(bytes.reduce((sum, one) => sum + one, 0)).toBeLessThanOrEqual(150_000);
  });

  check(
    'a label of more digits: the family file takes it as the command would change it, after showing it',
    async () => {
      const typed = 'K12-second 75/5B';
      const [file, copy] = [join(families, 'sedge.yaml'), join(scratch.path, 'copy')];
      cpSync(families, copy, { recursive: true });
      const before = readFileSync(file, 'utf8');
      await page.getByLabel('The label on its back').fill(typed);
      await page.getByText('label/digits-differ').waitFor();
      expect(await commandsShown()).toEqual([]);
      await page.getByRole('button', { name: /^Show what would change in the family file/ }).click();
      const change = page.getByRole('button', { name: `Change ${file}` });
      await change.waitFor();
      expect(await faults(page)).toEqual([]);
      await fitsScreen();
      expect(readFileSync(file, 'utf8')).toBe(before);
      await change.focus();
      await page.keyboard.press('Enter');
      await page.getByText('Sedge classroom panels: factory K12').waitFor();
      expect(stickwright(['family', 'widen', typed, '--yes', '--family', copy]).exitCode).toBe(0);
      expect(readFileSync(file, 'utf8')).toBe(readFileSync(join(copy, 'sedge.yaml'), 'utf8'));
      expect(readFileSync(file, 'utf8')).not.toBe(before);
    },
  );

  check('a family of the table is confirmed by another variant, and by that alone', async () => {
    await turnTo(page, 'Families');
    const form = page.getByRole('form', { name: 'Confirm Quartz hall panels' });
    const note = form.getByRole('button', { name: 'Note it in the family file' });
    await form.getByLabel('A label of another variant').fill('86:QB by R2');
    await form.getByLabel('The package that a panel').fill('quartz_qb_r2_20240117.zip');
    await form.getByText('It is the variant that the family was made from').waitFor();
    expect(await note.isDisabled()).toBe(true);
    await form.getByLabel('A label of another variant').fill('75:QD by R3');
    await form.getByLabel('The package that a panel').fill('quartz_qd_r3_20240117.zip');
    await form.getByLabel('Where that is known from').fill('room 2.14 took it');
    expect(await faults(page)).toEqual([]);
    await note.click();
    await page.getByText('It is confirmed.').waitFor();
    expect(readFileSync(join(families, 'quartz.yaml'), 'utf8')).toContain("from: 'room 2.14 took it'");
    const again = stickwright([
      ...['family', 'confirm', 'quartz', '--label', '75:QD by R3', '--package', 'quartz_qd_r3_20240117.zip'],
      ...['--from', 'room 2.14 took it', '--dry-run', '--family', families],
    ]);
    expect(again.exitCode).toBe(0);
    await page.getByText('A label or a package name has more digits, or fewer').click();
    await page.getByLabel("As it is printed, or the package's file name").fill('reed.1717171_5B_second_K2.zip');
    await page.getByText('Sedge classroom panels would read it').waitFor();
    await fitsScreen();
  });

  check('a list of labels gets the verdicts and findings of the command, line by line', async () => {
    const list = join(scratch.path, 'labels.txt');
    const lines = [label, 'K2-second 75/SB', '', 'VX+098+AM', 'K2-second 75/5B 1', 'Х2-second 75/5B'];
    writeFileSync(list, lines.join('\n'));
    const said = stickwright(['label', '--list', list, '--json'], { STICKWRIGHT_FAMILIES: families });
    const { labels } = JSON.parse(said.stdout) as { labels: readonly Listed[] };
    expect(labels).toHaveLength(5);
    await turnTo(page, 'Families');
    await page.getByText('Read a list of labels').click();
    await page.getByLabel('One a line, as they are printed').fill(lines.join('\n'));
    await page.getByRole('button', { name: 'Read them' }).click();
    await page.getByText(/^5 labels, of which \d to look at/).waitFor();
    const items = page.locator('.label-list > ol > li');
    const shown = await items.evaluateAll((all) =>
      all.map((one) => ({
        line: Number(one.getAttribute('value')),
        stamp: one.querySelector('[role=img]')?.getAttribute('aria-label'),
        text: one.textContent ?? '',
      })),
    );
    expect(shown.map(({ line, stamp }) => [line, stamp])).toEqual(
      labels.map(({ line, verdict }) => [line, verdict.toUpperCase().replace('-', ' ')]),
    );
    for (const [at, { findings }] of labels.entries())
      for (const { code } of findings) expect(shown[at]?.text, code).toContain(code);
    expect(await faults(page)).toEqual([]);
  });

  check('a published hash is judged while it is typed, and the verdict is that of the command', async () => {
    await turnTo(page, 'Slip');
    await page.getByRole('button', { name: 'Take a new slip' }).click();
    await writeLabel(page, label);
    await sayItRuns(page);
    await page.getByRole('radio', { name: new RegExp(name) }).check();
    const field = page.getByLabel('The hash, or the lines of a checksum list');
    await page.getByText('What its maker publishes of it').click();
    const [hash = ''] = run('sha256sum', maker(name)).toString().split(' ');
    await field.fill(hash.slice(1));
    await page.getByText('✗ It has 63 digits').waitFor();
    await page.getByLabel('Its length in bytes').fill('1.2 GB');
    await page.getByText('a rounded size such as 1.2 GB proves nothing').waitFor();
    expect(await faults(page)).toEqual([]);
    await page.getByLabel('Its length in bytes').fill('');
    // The maker's list, dropped: its line for this package is found.
    const list = join(scratch.path, 'SHA256SUMS');
    const names = ['reed.746_5B_second_K2.zip', name];
    const lineOf = (one: string): string => `${run('sha256sum', maker(one)).toString().split(' ')[0]}  ${one}\n`;
    writeFileSync(list, names.map(lineOf).join(''));
    await drop(page, list);
    await page.getByText(`✓ SHA-256 of ${name}`).waitFor();
    await page.getByText('From SHA256SUMS.').waitFor();
    await fitsScreen();
    // Of another file: it differs in the reading, here as with the command.
    const [other = ''] = run('sha256sum', maker('reed.746_5B_second_K2.zip')).toString().split(' ');
    await field.fill(other);
    await goOn(page);
    await tickSticks(page, /stick-1\.img/);
    await showPlan(page);
    await page.getByRole('button', { name: 'Write as shown' }).click();
    await page.getByText('archive/hash-differs').first().waitFor();
    const { path } = JSON.parse(stickwright(['shelf', 'list', name, '--json', '--shelf', desk.shelf]).stdout)
      .packages[0];
    const words = ['prepare', path, '--mode', 'in-os', '--label', label, '--running', 'reed.746', '--stick', stick(2)];
    const byCommand = stickwright([...words, '--expect-sha256', other, '--yes', '--json', '--family', families]);
    const told = JSON.parse(byCommand.stdout) as { findings: { code: string; severity: string }[] };
    const codes = told.findings.filter(({ severity }) => severity === 'stop').map(({ code }) => code);
    expect(codes).toEqual(['archive/hash-differs']);
    expect(await page.locator('.finding.stop > .finding-title code').allTextContents()).toEqual(codes);
    expect(await commandsShown()).toEqual([]);
  });

  check('a certificate is shown with its fingerprint, and a package that it signed is known by it', async () => {
    const signer = makeSigner('ec-p256', 'sha256');
    const signed = join(scratch.path, 'reed.1718_5B_second_K2.zip');
    writeFileSync(signed, signPackage(readFileSync(maker(name)), signer));
    await turnTo(page, 'Shelf');
    await drop(page, signed);
    await page.getByText('What its maker publishes of it').click();
    await drop(page, signer.certificate, 'maker.pem');
    await page.getByText(signer.fingerprint).waitFor();
    expect(await faults(page)).toEqual([]);
    await page.getByRole('button', { name: 'Read it and put it on the shelf' }).click();
    await page.getByText('It is on the shelf now.').waitFor();
    await page
      .getByText(/as it should be/)
      .first()
      .click();
    await page.getByRole('article').getByText('update/signer-known').waitFor();
    await page.getByRole('article').getByText('Signed by a signer you know').waitFor();
  });

  check('of a workbook the sheet with the rooms is chosen, and the filled list is that sheet', async () => {
    const list = join(scratch.path, 'autumn.xlsx');
    writeFileSync(list, await workbook());
    await drop(page, list);
    const sheets = page.getByLabel('The sheet that holds the rooms');
    await sheets.selectOption('Rooms of autumn');
    await page
      .getByText(/: 1 room/)
      .first()
      .waitFor();
    expect(await faults(page)).toEqual([]);
    await page.getByRole('button', { name: 'Make the plan' }).click();
    await page.getByRole('table', { name: 'The order of the sticks' }).waitFor();
    const csv = join(scratch.path, 'done.csv');
    expect(stickwright(['round', 'export', '--csv', csv, '--round', folder]).exitCode).toBe(0);
    expect(readFileSync(csv, 'utf8')).toContain('Tallow House 1');
  });

  check('a stop of a stick of the round is accepted with a reason, which every later verify shows', async () => {
    put(3, maker('reed.608_5B_second_K2.zip'));
    await page.getByRole('navigation', { name: 'Leaves of the round' }).getByRole('link', { name: 'Sticks' }).click();
    const show = async (): Promise<void> => {
      await page.getByRole('radio', { name: /stick-3\.img/ }).check();
      await page.getByRole('button', { name: 'Show what would be written on it' }).click();
    };
    await show();
    await page.getByText('stick/other-firmware').first().waitFor();
    await page
      .getByText(/^Accept it, with a reason/)
      .first()
      .focus();
    await page.keyboard.press('Enter');
    await page.getByLabel(/^Why it may be/).fill('The panel takes the newest one');
    expect(await faults(page)).toEqual([]);
    await fitsScreen();
    expect(await commandsShown()).toEqual([]);
    await show();
    const agreement = page.getByRole('form', { name: 'Agreement' });
    await agreement.getByText('because "The panel takes the newest one"').waitFor();
    await agreement.getByRole('button', { name: 'Write as shown' }).click();
    await page.locator('.stick-code b').waitFor();
    expect(stickwright(['verify', stick(3), '--label', label]).stdout).toContain('The panel takes the newest one');
  });

  check('a visit is noted with what was not as usual, and a phone gets its file', async () => {
    const leaf = page.getByRole('navigation', { name: 'Leaves of the round' });
    await leaf.getByRole('link', { name: 'Results' }).click();
    await page.getByLabel('Scan a card, or type a room').fill('Tallow House 1');
    await page.keyboard.press('Enter');
    const form = page.getByRole('form', { name: 'How it went: Tallow House 1' });
    // The newest on the shelf by now is the one that was signed above.
    await form.getByLabel('Build on the About page now').fill('reed.1718');
    await form.getByText('It was at another time').click();
    await form.getByLabel('Build on its About page before').fill('reed.745');
    expect(await faults(page)).toEqual([]);
    await form.getByRole('button', { name: 'Note it' }).click();
    await form.getByText('Noted, and kept').waitFor();
    const records = readdirSync(join(folder, 'records')).map((file) =>
      readFileSync(join(folder, 'records', file), 'utf8'),
    );
    expect(records.join('')).toContain('reed.745');
    await leaf.getByRole('link', { name: 'Paper' }).click();
    await page.getByLabel('Whose phone it is for').fill('Ada');
    expect(await faults(page)).toEqual([]);
    const saved = page.waitForEvent('download');
    await page.getByRole('button', { name: 'Save the file for the phone' }).click();
    const download = await saved;
    expect(download.suggestedFilename()).toBe('pocket-ada.html');
    expect(readFileSync(await download.path(), 'utf8')).toContain('Tallow House 1');
    expect(readdirSync(join(folder, 'pockets'))).toHaveLength(1);
  });
});
