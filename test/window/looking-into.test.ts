import { existsSync, mkdirSync, readdirSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import type { Browser, Page } from 'playwright-core';
import { afterAll, beforeAll, describe, expect } from 'vitest';
import { makeScratch, run } from '../fixtures/volumes/scratch.ts';
import { handOver, keysOf } from '../fixtures/window/hand-over.ts';
import { holdersOf } from '../fixtures/window/holders-of.ts';
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
const newest = 'reed.1717_5B_second_K2.zip';

describe('looking into a package in the window, by somebody who has no shelf', () => {
  const scratch = makeScratch();
  const moment = join(scratch.path, 'moment');
  let browser: Browser;
  let desk: OpenDesk;
  let page: Page;
  let laid: Awaited<ReturnType<typeof layDesk>>;
  beforeAll(async () => {
    laid = await layDesk(scratch, { sticks: 0 });
    mkdirSync(moment);
    // Of a process that has ended, and of one that has not.
    const { pid } = JSON.parse(String(run('sh', '-c', 'echo "{\\"pid\\":$$}"'))) as { pid: number };
    for (const whose of [pid, process.pid]) mkdirSync(join(moment, `stickwright-look-${whose}-AbC123`));
    writeFileSync(join(moment, `stickwright-look-${pid}-AbC123`, newest), 'half');
    browser = await startBrowser();
    desk = await open();
    page = await enter(await browser.newContext(), desk);
    await turnTo(page, 'Shelf');
  });
  afterAll(async () => {
    await browser?.close();
    await desk?.end();
    scratch.undo();
  });

  /** The shelf is the person's own, which nobody made yet. */
  const open = (): Promise<OpenDesk> =>
    openDesk(laid, [], {
      around: (command) => {
        const at = command.indexOf('--shelf');
        const words = command.filter((_, index) => index !== at && index !== at + 1);
        return ['/usr/bin/env', '-u', 'STICKWRIGHT_SHELF', `TMPDIR=${moment}`, ...words];
      },
    });
  const held = (): readonly string[] =>
    readdirSync(moment).filter((name) => name.startsWith('stickwright-look-') && !name.includes(`-${process.pid}-`));
  const atHome = (): readonly string[] => readdirSync(laid.home, { recursive: true, encoding: 'utf8' }).toSorted();
  const fileHeld = (): string => join(moment, held()[0] ?? 'none', 'half.zip');
  /** Half of it comes, and then nothing more. */
  const half = async () => {
    const keys = await keysOf(page);
    const head = { name: 'half.zip', bytes: 2_999_000, keep: false };
    const sending = handOver(desk, keys, { head, body: Buffer.alloc(300_000, 7), length: 3_000_000 });
    await expect.poll(() => existsSync(fileHeld()), { timeout: 30_000 }).toBe(true);
    return sending;
  };

  check('what was left by a process that has ended is cleared away, and nothing else', async () => {
    await expect.poll(held, { timeout: 30_000 }).toEqual([]);
    expect(readdirSync(moment)).toContain(`stickwright-look-${process.pid}-AbC123`);
  });

  check('makes no shelf, and leaves nothing', async () => {
    const before = atHome();
    await drop(page, join(scratch.path, 'maker', newest));
    await page.getByRole('button', { name: 'Only look into it' }).click();
    const looked = page.getByRole('article').filter({ hasText: 'Looked into' });
    await looked.getByRole('img').waitFor();
    expect(atHome()).toEqual(before);
    expect(held()).toEqual([]);
    expect(await faults(page)).toEqual([]);
    // Kept, it makes one.
    await drop(page, join(scratch.path, 'maker', newest));
    await page.getByRole('button', { name: 'Read it and put it on the shelf' }).click();
    await page.getByText('It is on the shelf now.').waitFor();
    expect(atHome().filter((path) => path.endsWith(newest))).toHaveLength(1);
  });

  check('leaves nothing where it is stopped, where its process is killed, or the desk', async () => {
    const before = atHome();
    const stopped = await half();
    await page.getByRole('button', { name: 'Stop at a clean place' }).click();
    await expect.poll(held, { timeout: 30_000 }).toEqual([]);
    stopped.goAway();
    const killed = await half();
    const holders = holdersOf(fileHeld());
    expect(holders).toHaveLength(1);
    process.kill(holders[0] ?? 0, 'SIGKILL');
    await expect.poll(held, { timeout: 30_000 }).toEqual([]);
    killed.goAway();
    await half();
    await desk.end('SIGKILL');
    await expect.poll(held, { timeout: 30_000 }).toEqual([]);
    expect(atHome()).toEqual(before);
  });
});
