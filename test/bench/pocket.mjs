// How long a pocket takes to open on a mid-range phone: Chromium with its processor slowed down to a quarter, a phone's
// screen, from a file, nothing cached. `node test/bench/pocket.mjs [FILE]`; without FILE the 200 rooms that
// test/pocket/what-a-phone-gives.test.ts leaves in out. Fails above a second.
import { existsSync } from 'node:fs';
import { resolve } from 'node:path';
import { pathToFileURL } from 'node:url';
import { chromium } from 'playwright-core';

const runs = 7;
const mostMs = 1_000;
const file = resolve(process.argv[2] ?? 'out/pocket-200-rooms.html');
if (!existsSync(file)) {
  process.stderr.write(`${file} is not there; test/pocket/what-a-phone-gives.test.ts makes it.\n`);
  process.exit(2);
}

/** When the list that can be tapped has been drawn: the frame after the one in which it came. */
const watch = `new MutationObserver((_, watcher) => {
  if (document.querySelector('.rooms a') === null) return;
  watcher.disconnect();
  requestAnimationFrame(() => setTimeout(() => { globalThis.usableMs = performance.now(); }));
}).observe(document, { childList: true, subtree: true });`;

const phone = { viewport: { width: 360, height: 740 }, deviceScaleFactor: 2, hasTouch: true, isMobile: true };
const times = [];
for (let run = 0; run < runs; run++) {
  const browser = await chromium.launch({ executablePath: '/usr/bin/chromium', args: ['--no-sandbox'] });
  const page = await browser.newPage(phone);
  const session = await page.context().newCDPSession(page);
  await session.send('Emulation.setCPUThrottlingRate', { rate: 4 });
  await page.addInitScript(watch);
  await page.goto(pathToFileURL(file).href);
  await page.waitForFunction('globalThis.usableMs !== undefined');
  times.push(
    await page.evaluate(`({ usableMs: globalThis.usableMs,
      paintMs: performance.getEntriesByName('first-contentful-paint')[0]?.startTime ?? Infinity })`),
  );
  await browser.close();
}
const middle = (name) => Math.round(times.map((one) => one[name]).toSorted((a, b) => a - b)[Math.floor(runs / 2)]);
const all = (name) => times.map((one) => Math.round(one[name])).join(', ');
const [paintMs, usableMs] = [middle('paintMs'), middle('usableMs')];
process.stdout.write(`first paint ${paintMs} ms (${all('paintMs')})\nusable ${usableMs} ms (${all('usableMs')})\n`);
process.exit(Math.max(paintMs, usableMs) < mostMs ? 0 : 1);
