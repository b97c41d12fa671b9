import { spawnSync } from 'node:child_process';
import { existsSync, readdirSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import type { Page } from 'playwright-core';
import { afterAll, beforeAll, describe, expect, vi } from 'vitest';
import { canonicalForm } from '../../src/core/documents/own-digest.ts';
import type { RoundRecord } from '../../src/core/model/round-record.ts';
import { roundRecordWithDigest } from '../../src/core/rounds/records/own-digests.ts';
import { openRound } from '../../src/io/rounds/open-round.ts';
import { phoneTools } from '../../src/pocket/tools.ts';
import { stickwright } from '../fixtures/command.ts';
import { deskWithPocket, filmPrints, openPhone } from '../fixtures/phone.ts';
import { needs } from '../outside/needs.ts';

vi.setConfig({ testTimeout: 200_000, hookTimeout: 120_000 });

const inBrowser = needs({ chromium: 'chromium', zbarimg: 'zbar-tools' });
const canRun = spawnSync('which', ['chromium']).status === 0;

let desk: Awaited<ReturnType<typeof deskWithPocket>>;
let prints: Awaited<ReturnType<typeof filmPrints>>;
beforeAll(async () => {
  if (!canRun) return;
  desk = await deskWithPocket();
  prints = await filmPrints(desk.folder, desk.place, 'Room 2.14');
});
afterAll(() => rmSync(desk?.folder ?? '', { recursive: true, force: true, maxRetries: 5 }));

const type = async (page: Page, label: string | RegExp, text: string): Promise<void> => {
  await page.getByLabel(label).fill(text);
};
const tap = (page: Page, name: string | RegExp): Promise<void> => page.getByRole('button', { name, exact: true }).tap();
const stick = (page: Page) => page.locator('#stick');
const plate = (page: Page) => page.locator('#plate');
const outcome = (page: Page) => page.locator('#outcome');
const headings = (page: Page) => page.locator('main h2').allTextContents();

async function checkStick(page: Page, code: string): Promise<void> {
  await type(page, 'Code on its tag', code);
  await stick(page).getByRole('button', { name: 'Check' }).tap();
}
async function checkPlate(page: Page, label: string): Promise<void> {
  await type(page, /^Type the label/, label);
  await plate(page).getByRole('button', { name: 'Check' }).tap();
}
const openRoom = async (page: Page, room: string): Promise<void> => {
  await page.getByRole('link', { name: 'Rooms', exact: true }).tap();
  await page.getByRole('link', { name: new RegExp(`^${room}`) }).tap();
  await page.getByRole('heading', { level: 1, name: room }).waitFor();
};
async function record(page: Page, kind: string, label: RegExp, words: string): Promise<void> {
  await outcome(page).getByRole('button', { name: kind, exact: true }).tap();
  await outcome(page).getByLabel(label).fill(words);
  await tap(page, 'Record');
}

/** All that a line says, whatever the order of its members (RFC 8785), with its digest. */
const lineOf = (record: RoundRecord): string => `${record.selfSha256} ${canonicalForm(record)}`;

/** Records as the phone keeps them, as the desk would write them. */
async function keptOn(page: Page): Promise<readonly string[]> {
  const texts = await page.evaluate<string[]>(
    `Object.keys(localStorage).filter((key) => key.includes('-line-')).map((key) => localStorage.getItem(key))`,
  );
  return texts
    .map((text) => (JSON.parse(text) as { record: RoundRecord }).record)
    .map((one) => lineOf(roundRecordWithDigest(one, phoneTools.sha256)))
    .toSorted();
}

/** What the round has from phones after these are merged at a desk of its own. */
async function mergedBy(name: string, ...paths: readonly string[]): Promise<readonly string[]> {
  const place = join(desk.folder, `${name}.round`);
  spawnSync('cp', ['-r', desk.place, place]);
  const { exitCode, stdout, stderr } = stickwright(['round', 'merge', ...paths, '--round', place]);
  expect([exitCode, stderr]).toEqual([0, '']);
  expect(stdout).toContain('[pocket/taken]');
  expect(stdout).not.toMatch(/\[pocket\/(torn|edited|foreign|missing)/);
  const { records, damaged } = await openRound(place, 'x').records();
  expect(damaged).toEqual([]);
  return records
    .filter(({ who }) => who === 'Ada')
    .map(lineOf)
    .toSorted();
}

describe('a walk with the phone, from the card to the record', () => {
  inBrowser('is led from the scanned card to what the desk has, in a browser of a phone, from a file', async () => {
    const { folder, file } = desk;
    const first = await openPhone(folder, file, { film: prints.film });
    let { page } = first;
    await page.getByText('Entries are kept on this phone at once.').waitFor();

    // The camera films our own printed card, not quite straight.
    await tap(page, 'Scan the card or the tag');
    await page.getByRole('heading', { level: 1, name: 'Room 2.14' }).waitFor();
    expect(await headings(page)).not.toContain('3. Steps');

    // The card is no stick; a stick of another load is stopped; the one for this room is right.
    await tap(page, 'Scan the tag of the stick');
    await stick(page).getByText('That code is of a card').waitFor();
    await stick(page).locator('input[type=file]').setInputFiles(prints.wrong);
    await stick(page).getByText('STOP. Stick K7M-R4X is not for this room: it carries load C.').waitFor();
    await checkStick(page, 'QQQ-QQQ');
    await stick(page).getByText('STOP. This file does not know stick QQQ-QQQ.').waitFor();
    await checkPlate(page, 'K2-second 75/5B');
    await plate(page).getByText('The plate agrees with the list').waitFor();
    expect(await headings(page)).not.toContain('3. Steps');
    await stick(page).locator('input[type=file]').setInputFiles(prints.right);
    await stick(page).getByText('Stick CLY-FTJ is the one for this room.').waitFor();
    expect(await headings(page)).toContain('3. Steps');

    // A misread plate and a wrong one are two things; both stop.
    await plate(page).getByRole('button', { name: 'Check again' }).tap();
    await checkPlate(page, 'K2-second 7S/5B');
    await plate(page).getByText('Not equal yet, first at character 12.').waitFor();
    expect(await headings(page)).not.toContain('3. Steps');
    await checkPlate(page, 'VX+098+AM');
    await plate(page).getByText('STOP. This panel has another label than the list').waitFor();
    await plate(page).getByText('Such a label hangs in: Assembly hall.').waitFor();
    await checkPlate(page, 'k2–second 75/5b');
    await plate(page).getByText('The plate agrees with the list').waitFor();

    // Steps are ticked, the update runs, and the phone is closed in the middle of it.
    await page.getByRole('checkbox').nth(0).check();
    await page.getByRole('checkbox').nth(1).check();
    await tap(page, 'The update runs now');
    await page.getByText(/2[45] minutes left/).waitFor();
    expect(first.faults).toEqual([]);
    await first.context.close();

    const second = await openPhone(folder, file, { film: prints.film });
    ({ page } = second);
    await openRoom(page, 'Room 2.14');
    await stick(page).getByText('Stick CLY-FTJ is the one for this room.').waitFor();
    expect(await page.getByRole('checkbox', { checked: true }).count()).toBe(2);
    await page.getByText(/(1\d|2[0-5]) minutes left/).waitFor();
    // The clock alone tells: an hour later the screen comes back.
    await page.evaluate(
      `{ const real = Date.now; Date.now = () => real() + 3_600_000; dispatchEvent(new Event('focus')); }`,
    );
    await page.getByText(/The time is over since (3[5-9]|4\d) minutes\./).waitFor();
    await page.reload();
    await page.getByText(/(1\d|2[0-5]) minutes left/).waitFor();

    // The build decides, not the word: the old one is no success, the new one is.
    await record(page, 'It shows a build', /^Build on the About page/, 'reed.746');
    await outcome(page).getByText('Room 2.14 shows reed.746, the build that it had before').waitFor();
    await outcome(page)
      .getByLabel(/^Build on the About page/)
      .fill('reed.1717');
    await tap(page, 'Record');
    await page.locator('header .stamp', { hasText: 'done' }).waitFor();

    // A failure: the next step of the ladder, with the facts filled in, and what to send to the maker.
    await openRoom(page, 'Room 2.15');
    await checkStick(page, 'clyftj');
    await checkPlate(page, 'K2-second 75/5B');
    await outcome(page).getByRole('button', { name: 'It failed' }).tap();
    await outcome(page).locator('input[type=file]').setInputFiles(prints.wrong);
    await outcome(page).getByText('The photo goes with the file.').waitFor();
    await outcome(page)
      .getByLabel(/^The exact words/)
      .fill('No update file found');
    await tap(page, 'Record');
    const ladder = page.locator('#ladder');
    await ladder.getByText('One try failed. One more is left.').waitFor();
    await ladder.locator('li.next', { hasText: 'Verify the stick' }).waitFor();
    await ladder.locator('li.after', { hasText: 'The stated port is USB 1' }).waitFor();
    expect(await ladder.getByLabel('Message to the maker').inputValue()).toContain('No update file found');

    // After a second try nobody is led to a third.
    await checkStick(page, 'clyftj');
    await checkPlate(page, 'K2-second 75/5B');
    await record(page, 'It failed', /^The exact words/, 'No update file found, port 2');
    await ladder.getByText('STOP. Two tries failed.').waitFor();
    await ladder.getByText('it WIPES everything on it').waitFor();
    expect(await page.locator('#stick').count()).toBe(0);

    // A wipe that nobody approved waits; one with a name shows it.
    await openRoom(page, 'Library');
    await page.getByText('Nobody has approved this wipe. Do not start it.').waitFor();
    expect(await page.locator('#stick').count()).toBe(0);
    await outcome(page).getByRole('button', { name: 'Skipped' }).tap();
    expect(await outcome(page).getByLabel('Why was nothing done?').inputValue()).toBe('The wipe was not approved');
    await tap(page, 'Record');
    await page.locator('header .stamp', { hasText: 'skipped' }).waitFor();
    await openRoom(page, 'Assembly hall');
    await page.getByText('Approved by D. Harrow, 18 Sept 2026').waitFor();
    await outcome(page).getByRole('button', { name: 'Skipped' }).tap();
    await outcome(page).getByLabel('Why was nothing done?').fill('a play in the hall');
    await tap(page, 'Record');
    // A slip of the finger is taken back, and stays to be seen.
    await tap(page, 'This entry is wrong');
    await page.getByLabel(/^What is wrong with it/).fill('wrong hall');
    await page.locator('#entries').getByRole('button', { name: 'Record' }).tap();
    await page.getByText('taken back').waitFor();

    // Out in all three ways, each merged by the desk, and equal line for line.
    const kept = await keptOn(page);
    expect(kept).toHaveLength(6);
    await page.getByRole('link', { name: 'Give out (6)' }).tap();
    const coming = page.waitForEvent('download');
    await tap(page, 'Save the file');
    const saved = join(folder, 'saved.txt');
    await (await coming).saveAs(saved);
    const text = join(folder, 'copied.txt');
    writeFileSync(text, await page.getByLabel('6 entries').inputValue());
    const codes = join(folder, 'codes.txt');
    writeFileSync(codes, await codesOn(page, folder));
    expect(second.faults).toEqual([]);
    await second.context.close();

    expect(await mergedBy('file', saved)).toEqual(kept);
    expect(await mergedBy('text', text)).toEqual(kept);
    expect(await mergedBy('codes', codes)).toEqual(kept);
    expect(await mergedBy('all', codes, saved, text, saved)).toEqual(kept);
    expect(readFileSync(saved, 'utf8')).toMatch(/^# Round Quillhaven-north, Ada: 6 entries/);
    // The photo came with the file, and lies beside the records: a JPEG (ITU-T T.81, B.1.1.3).
    expect(existsSync(join(folder, 'codes.round', 'photos'))).toBe(false);
    const [photo = '', ...others] = readdirSync(join(folder, 'all.round', 'photos'));
    const ofPhoto = kept.find((line) => line.includes(`"id":"${photo.replace('.jpg', '')}"`));
    expect([others, ofPhoto?.includes('No update file found')]).toEqual([[], true]);
    const jpeg = readFileSync(join(folder, 'all.round', 'photos', photo));
    expect([...jpeg.subarray(0, 3), ...jpeg.subarray(-2)]).toEqual([0xff, 0xd8, 0xff, 0xff, 0xd9]);
    // The desk sees the round as the phone left it.
    const status = stickwright(['round', 'status', '--json', '--round', join(folder, 'all.round')]);
    const { rooms } = JSON.parse(status.stdout) as { rooms: { room: string; progress: string }[] };
    const progress = new Map(rooms.map((one) => [one.room, one.progress]));
    expect(['Room 2.14', 'Room 2.15', 'Library', 'Assembly hall'].map((room) => progress.get(room))).toEqual([
      'done',
      'failed',
      'skipped',
      'prepared',
    ]);
  });
});

/** What another program's reader sees in screenshots of each code. */
async function codesOn(page: Page, folder: string): Promise<string> {
  const of = Number(/Code 1 of (\d+)/.exec((await page.locator('#codes').textContent()) ?? '')?.[1]);
  expect(of).toBeGreaterThan(1);
  const texts: string[] = [];
  for (let number = 1; number <= of; number++) {
    await page.getByText(`Code ${number} of ${of}`).waitFor();
    const path = join(folder, `code-${number}.png`);
    await page.locator('#codes svg').screenshot({ path });
    const { stdout, status } = spawnSync('zbarimg', ['--quiet', '--raw', path], { encoding: 'utf8' });
    expect(status).toBe(0);
    texts.push(stdout);
    await tap(page, 'After');
  }
  return texts.toReversed().join('');
}
