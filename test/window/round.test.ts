import { cpSync, readdirSync, readFileSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import type { Browser, Page } from 'playwright-core';
import { encode } from 'uqr';
import { afterAll, beforeAll, describe, expect } from 'vitest';
import { writeCardCode } from '../../src/core/rounds/records/card-code.ts';
import { openRound } from '../../src/io/rounds/open-round.ts';
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
    await page.getByLabel('Minutes to prepare a stick').fill('9');
    await page.getByRole('button', { name: 'Make the plan' }).click();
    await page.getByRole('table', { name: 'The order of the sticks' }).waitFor();
    expect(JSON.parse(readFileSync(join(folder, 'round.json'), 'utf8')).schedule.setUpMinutes).toBe(9);
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

  const leaf = (name: string) =>
    page.getByRole('navigation', { name: 'Leaves of the round' }).getByRole('link', { name });

  /** The next stick of the plan on TARGET, agreed to; its code as it is to be written on the tag. */
  const prepareNext = async (target: RegExp): Promise<string> => {
    const before = await page.locator('.stick-code b').count();
    await page.getByRole('radio', { name: target }).check();
    await page.getByRole('button', { name: 'Show what would be written on it' }).click();
    await page.getByRole('button', { name: 'Write as shown' }).click();
    await page.locator('.stick-code b').nth(before).waitFor();
    return (await page.locator('.stick-code b').first().textContent()) ?? '';
  };

  check('prepares stick after stick in the order of the plan, and goes on after a restart', async () => {
    await leaf('Sticks').click();
    const now = page.locator('.put-in');
    await now.getByText('Put stick 1 in now').waitFor();
    // Another load may come before its turn, and the first one after all.
    const letter = page.locator('.load-letter').first();
    const own = (await letter.textContent()) ?? '';
    const toFirst = page.getByRole('button', { name: /^prepare it first/ });
    await toFirst.last().click();
    await expect.poll(() => letter.textContent()).not.toBe(own);
    await page.getByRole('button', { name: new RegExp(`load ${own}$`) }).click();
    await now.getByText('Put stick 1 in now').waitFor();
    expect(await faults(page)).toEqual([]);
    const first = await prepareNext(/stick-1\.img/);
    await page.getByText('Put stick 2 in now').waitFor();

    // The server is started anew; the folder of the round says where it stands.
    await desk.end();
    desk = await openDesk(laid, ['--round', folder]);
    await page.close();
    page = await enter(await browser.newContext({ colorScheme: 'dark' }), desk);
    await page.getByRole('link', { name: 'Round' }).click();
    await leaf('Sticks').click();
    await page.getByText('Put stick 2 in now').waitFor();
    const second = await prepareNext(/stick-2\.img/);
    expect(await faults(page)).toEqual([]);
    for (const [at, code] of [first, second].entries())
      expect(stickwright(['verify', laid.sticks[at] ?? '']).stdout).toContain(code);
  });

  check('notes in its round what a stick brought back, as the command does', async () => {
    const [, target = ''] = laid.sticks;
    await page.getByRole('link', { name: 'Sticks' }).first().click();
    const tag = page.getByRole('article', { name: `Stick ${target}` });
    await tag.locator('summary', { hasText: 'It came back' }).click();
    await tag.getByRole('button', { name: 'Look at what it brings back' }).click();
    await tag.getByText('Noted in the round autumn').waitFor();
    expect(stickwright(['verify', target, '--returned', '--round', folder]).stdout).toContain('Noted in the round at');
    const { records } = await openRound(folder, 'x').records();
    const [byWindow, byCommand, ...others] = records.flatMap((record) =>
      record.kind === 'returned' ? [{ ...record, id: '', at: '', notedAt: '', selfSha256: '' }] : [],
    );
    expect(byWindow).toEqual(byCommand);
    expect([others, byWindow?.state]).toEqual([[], 'unchanged']);
    await page.getByRole('link', { name: 'Round' }).click();
  });

  check('prints a card in a page of its own, once, without script', async () => {
    await leaf('Paper').click();
    expect(await faults(page)).toEqual([]);
    const opened = page.context().waitForEvent('page');
    await page.getByRole('button', { name: 'A card for each room' }).click();
    const paper = await opened;
    await paper.waitForURL(/\/paper\//);
    await paper.getByRole('heading', { name: 'Tallow House 1', exact: true }).waitFor();
    // Sizes stand in attributes: the policy lets them be, and no script at all.
    const size = `getComputedStyle(document.querySelector('h2.room')).fontSize`;
    expect(Number.parseFloat(String(await paper.evaluate(size)))).toBeGreaterThan(20);
    const again = await paper.goto(paper.url());
    expect(again?.status()).toBe(403);
    await paper.close();
  });

  check('notes a failure from a scanned card, and says the next step on the spot', async () => {
    await leaf('Results').click();
    const scan = page.getByLabel('Scan a card, or type a room, an asset tag or a serial');
    const code = writeCardCode({ load: 'C', stick: null, rooms: ['Tallow House 2'], more: 0 });
    // A scanner is a keyboard that presses Enter.
    await scan.focus();
    await page.keyboard.type(`${code}\n`);
    const form = page.getByRole('form', { name: 'How it went: Tallow House 2' });
    await form.getByRole('radio', { name: 'failed' }).check();
    await form.getByLabel('The exact words on the screen').fill('Package not for this device');
    await form.getByRole('button', { name: 'Note it' }).click();
    await form.getByText('Noted, and kept').waitFor();
    expect(await page.getByRole('region', { name: 'What to do now' }).textContent()).toContain('Verify the stick');
    expect(await faults(page)).toEqual([]);
    // The same once more within a minute is asked about, and nothing is noted.
    await form.getByLabel('The exact words on the screen').fill('Package not for this device');
    await form.getByRole('button', { name: 'Note it' }).click();
    await form.getByText('Not noted yet.').waitFor();
    await page.getByText('1 failed').first().waitFor();
  });

  check('takes in what somebody else noted, and gives the filled list back', async () => {
    const other = join(scratch.path, 'other.round');
    cpSync(folder, other, { recursive: true });
    const known = new Set(readdirSync(join(other, 'records')));
    const noted = stickwright([
      'round',
      'record',
      'Tallow House 1',
      '--build',
      '1190',
      '--who',
      'I. Marlow',
      '--round',
      other,
    ]);
    expect(noted.stderr).toBe('');
    const [file = ''] = readdirSync(join(other, 'records')).filter((name) => !known.has(name));
    await page.locator('.drop input').setInputFiles(join(other, 'records', file));
    await page.getByText('1 line taken in').waitFor();
    await page.getByText('1 done').first().waitFor();

    await leaf('Paper').click();
    const saved = page.waitForEvent('download');
    await page.getByRole('button', { name: 'Save the filled list' }).click();
    const download = await saved;
    expect(download.suggestedFilename()).toBe('autumn-done.csv');
    const rows = readFileSync(await download.path(), 'utf8').split('\r\n');
    expect(rows.find((row) => row.startsWith('Tallow House 1;'))).toMatch(/done;1190;.*I\. Marlow/);
    expect(rows.find((row) => row.startsWith('Tallow House 2;'))).toContain('Package not for this device');
    expect(rows.find((row) => row.startsWith('Fernmoor 2.07;'))).toContain('home-second 75/5B');
    const own = join(scratch.path, 'own.csv');
    stickwright(['round', 'export', '--csv', own, '--round', folder]);
    expect(readFileSync(await download.path()).equals(readFileSync(own))).toBe(true);
  });

  check('writes a stick that wipes only where a room of its load was typed', async () => {
    const { loads } = JSON.parse(readFileSync(join(folder, 'round.json'), 'utf8')) as {
      loads: { id: string; wipes: boolean; rooms: string[] }[];
    };
    const wiping = loads.find(({ wipes }) => wipes);
    const [room = ''] = wiping?.rooms ?? [];
    const [target = ''] = laid.sticks;
    const before = readFileSync(target);
    await leaf('Sticks').click();
    await page.evaluate(`fetch('/api/round/prepare', {
      method: 'POST',
      headers: { 'x-desk-token': localStorage.getItem('stickwright-token') },
      body: ${JSON.stringify(JSON.stringify({ load: wiping?.id, target, leftovers: 'remove' }))},
    })`);
    const form = page.getByRole('form', { name: 'Agreement' });
    // It carries another load for rooms that are not done: that is asked first, in the same way.
    await form.getByText('Nobody counts on that stick any more').waitFor();
    await form.getByLabel('Type a room of this load to agree').fill(room);
    await form.getByRole('button', { name: 'Write the stick that wipes' }).click();
    await form.getByText(/which WIPES THE PANEL/).waitFor();
    await form.getByLabel('Type a room of this load to agree').fill('Fernmoor 1.01');
    await form.getByRole('button', { name: 'Write the stick that wipes' }).click();
    await page.getByText('That is not a room of this load.').waitFor();
    expect(await faults(page)).toEqual([]);
    await form.getByRole('button', { name: 'No, write nothing' }).click();
    await page.getByText('Put away').first().waitFor();
    expect(readFileSync(target).equals(before)).toBe(true);
  });

  check('finds a room by the code that a camera sees; the decoder comes only then', async () => {
    const film = join(scratch.path, 'card.y4m');
    writeFileSync(film, filmOf(writeCardCode({ load: 'C', stick: null, rooms: ['Tallow House 2'], more: 0 })));
    const flags = ['--use-fake-device-for-media-stream', '--use-fake-ui-for-media-stream'];
    const seeing = await startBrowser([...flags, `--use-file-for-fake-video-capture=${film}`]);
    const again = await openDesk(laid, ['--round', folder]);
    try {
      const window = await enter(await seeing.newContext(), again);
      const loaded: string[] = [];
      window.on('request', (asked) => loaded.push(new URL(asked.url()).pathname));
      await window.getByRole('link', { name: 'Round' }).click();
      await window.getByRole('link', { name: 'Results' }).click();
      const camera = window.getByRole('button', { name: 'Use the camera' });
      await camera.waitFor();
      expect(loaded).not.toContain('/code-reader.js');
      await camera.click();
      await window.getByRole('form', { name: 'How it went: Tallow House 2' }).waitFor();
      expect(loaded).toContain('/code-reader.js');
    } finally {
      await seeing.close();
      await again.end();
    }
  });
});

/** A film in which a camera sees the code TEXT: YUV4MPEG2, as Chromium plays it for a camera. */
function filmOf(text: string): Buffer {
  const { data, size } = encode(text, { border: 4 });
  const [width, height] = [640, 480];
  const scale = Math.floor(height / size);
  const light = Buffer.alloc(width * height, 255);
  for (let at = 0; at < (size * scale) ** 2; at += 1) {
    const [row, column] = [Math.floor(at / (size * scale)), at % (size * scale)];
    if (data[Math.floor(row / scale)]?.[Math.floor(column / scale)] === true) light[row * width + column] = 0;
  }
  const frame = Buffer.concat([Buffer.from('FRAME\n'), light, Buffer.alloc((width * height) / 2, 128)]);
  const head = Buffer.from(`YUV4MPEG2 W${width} H${height} F10:1 Ip A1:1 C420jpeg\n`);
  return Buffer.concat([head, ...Array.from({ length: 10 }, () => frame)]);
}
