// `node test/bench/window.mjs [--megabytes 1000 --runs 5]`: the desk in a window against the command that does the
// same, in turn in one run: until it is served, until its page can be used, a whole preparation, its memory, how often
// progress is told, and what a person waits for among 2,000 rooms. Prints medians; says nothing about good or bad.
import { spawn, spawnSync } from 'node:child_process';
import { mkdirSync, readdirSync, readFileSync, rmSync } from 'node:fs';
import { dirname, resolve } from 'node:path';
import { chromium } from 'playwright-core';
import { makeDesk } from './desk.mjs';
import { slowSticks } from './slow-sticks.mjs';

const { folder, archive, runs, prepare, makeImage } = await makeDesk({ runs: 5 });
const stick = resolve(folder, 'window.img');
const home = resolve(folder, 'window-home');
rmSync(home, { recursive: true, force: true });
mkdirSync(home, { recursive: true });
Object.assign(process.env, {
  HOME: home,
  XDG_DATA_HOME: `${home}/data`,
  XDG_CONFIG_HOME: `${home}/config`,
  XDG_DOWNLOAD_DIR: resolve(dirname(archive)),
});
const median = (numbers) => numbers.toSorted((a, b) => a - b)[Math.floor(numbers.length / 2)];
const say = (name, value, of = '') => process.stdout.write(`${name.padEnd(58)}${value}${of}\n`);
const inMs = (numbers) => `${Math.round(median(numbers))} ms  (${numbers.map(Math.round).join(', ')})`;

await makeImage(stick);
const helps = [];
const served = [];
for (let run = 0; run < runs; run++) {
  const before = performance.now();
  spawnSync(process.execPath, ['bin/stickwright.js', '--help']);
  helps.push(performance.now() - before);
  const desk = await openDesk();
  served.push(desk.afterMs);
  await desk.end();
}
say('stickwright --help', inMs(helps));
say('the desk is served', inMs(served), `; ${(median(served) - 1.3 * median(helps)).toFixed(0)} ms over 1.3 × that`);

const desk = await openDesk();
const browser = await chromium.launch({
  executablePath: process.env.CHROME ?? '/usr/bin/chromium',
  args: process.getuid?.() === 0 ? ['--no-sandbox'] : [],
});
const context = await browser.newContext();
/** When the frame after the one in which the slip came has been drawn. */
await context.addInitScript(`new MutationObserver((_, watcher) => {
  if (document.querySelector('main h1') === null) return;
  watcher.disconnect();
  requestAnimationFrame(() => setTimeout(() => { globalThis.usableMs = performance.now(); }));
}).observe(document, { childList: true, subtree: true });`);
const page = await context.newPage();
page.setDefaultTimeout(60_000);
const usable = [];
for (let run = 0; run < runs; run++) {
  await page.goto(run === 0 ? desk.address : `${desk.origin}/?${run}`);
  await page.locator('main h1').waitFor();
  usable.push(await page.evaluate('new Promise((told) => setTimeout(() => told(globalThis.usableMs), 200))'));
}
say('its page can be used (the first with nothing kept)', inMs(usable));

await fillIn();
await compare('as fast as this computer', freshStick);
const { plugIn, unplug } = slowSticks(makeImage);
rmSync(stick, { force: true });
await compare('a stick of 100 MB/s', () => plugIn([stick], 100e6));
await unplug();
await makeImage(stick);

// Once more for their memory alone: looking at it takes time.
const commandBytes = (await commandRun(true)).peakBytes;
await freshStick();
const windowBytes = (await windowRun(true)).peakBytes;
say('memory, command', `${(commandBytes / 1e6).toFixed(0)} MB`);
say('memory, window with all its processes', `${(windowBytes / 1e6).toFixed(0)} MB`);

await manyRooms();
await browser.close();
await desk.end();
rmSync(stick, { force: true });
rmSync(home, { recursive: true, force: true });

/** A whole preparation in recovery by the command and through the window, in turn, each on a stick that FRESH makes. */
async function compare(name, fresh) {
  const [byCommand, inWindow] = [[], []];
  for (let run = 0; run < runs; run++) {
    await fresh();
    byCommand.push(await commandRun());
    await fresh();
    inWindow.push(await windowRun());
  }
  const seconds = (rows) => median(rows.map(({ ms }) => ms)) / 1000;
  const all = (rows) => `${seconds(rows).toFixed(2)} s  (${rows.map(({ ms }) => (ms / 1000).toFixed(2)).join(', ')})`;
  say(`prepare, ${name}: command`, all(byCommand));
  say(`prepare, ${name}: window`, all(inWindow), `; ${(seconds(inWindow) / seconds(byCommand)).toFixed(3)} of that`);
  say('progress told in a second', median(inWindow.map(({ toldASecond }) => toldASecond)).toFixed(1));
}

/** With nothing of what went before still to be written by the system. */
async function freshStick() {
  await makeImage(stick);
  spawnSync('sync');
}

async function openDesk() {
  const beganMs = performance.now();
  const raised = process.getuid?.() === 0 ? ['--raised'] : [];
  const words = ['bin/stickwright.js', 'desk', '--no-open', ...raised, '--stick', stick];
  const child = spawn(process.execPath, words, { stdio: ['ignore', 'inherit', 'pipe'] });
  const ended = new Promise((done) => child.once('exit', done));
  let said = '';
  const address = await new Promise((found, failed) => {
    child.once('exit', () => failed(new Error(said)));
    child.stderr.on('data', (chunk) => {
      said += chunk;
      const [printed] = /http:\/\/127\.0\.0\.1:\d+\/#\S+/.exec(said) ?? [];
      if (printed !== undefined) found(printed);
    });
  });
  const afterMs = performance.now() - beganMs;
  const end = () => {
    child.kill('SIGTERM');
    return ended;
  };
  return { address, afterMs, origin: new URL(address).origin, pid: child.pid, end };
}

/** The slip, up to what would be written: a panel that does not start, so a recovery. */
async function fillIn() {
  const goOn = () => page.getByRole('button', { name: 'Go on', exact: true }).click();
  await page.getByLabel('The label on its back').fill('K2-second 75/5B');
  await page.getByLabel('The same once more').fill('K2-second 75/5B');
  await goOn();
  await page.getByRole('radio', { name: /^no: dark/ }).check();
  await page.getByRole('radio', { name: /^no, or all of it is copied/ }).check();
  await page.getByLabel('Who approved the wipe').fill('I. Marlow');
  await page.getByRole('button', { name: 'Note it' }).click();
  await goOn();
  await page.getByRole('radio', { name: /reed\.1717_5B_second_K2\.zip/ }).check();
  await goOn();
  await page.getByRole('checkbox', { name: /window\.img/ }).check();
  await goOn();
}

async function commandRun(isWatched = false) {
  const beganMs = performance.now();
  const child = spawn('bash', ['-c', prepare('recovery', stick)], { stdio: 'ignore' });
  const ended = new Promise((done) => child.once('exit', done));
  const memory = isWatched ? watchMemory(child.pid) : undefined;
  const code = await ended;
  if (code !== 0 && code !== 4) throw new Error(`the command ended with ${code}`);
  return { ms: performance.now() - beganMs, peakBytes: memory?.peakBytes() };
}

async function windowRun(isWatched = false) {
  const look = page.getByRole('button', { name: /what would be written$/ });
  // The image was made anew, and the desk looks about once a second at what is plugged in.
  await new Promise((seen) => setTimeout(seen, 2500));
  await look.waitFor();
  const memory = isWatched ? watchMemory(desk.pid) : undefined;
  let beganMs = performance.now();
  await look.click();
  const write = page.getByRole('button', { name: 'Write the stick that wipes' });
  await write.waitFor();
  let ms = performance.now() - beganMs;
  await page.getByLabel(/^Type .* to agree$/).fill('K2-second 75/5B');
  const events = await countEvents();
  beganMs = performance.now();
  await write.click();
  // A locator asks at every frame, and would have the page draw them.
  await page.evaluate(`new Promise((done) => new MutationObserver((_, watcher) => {
    if (document.querySelector('.stick-code') === null) return;
    watcher.disconnect();
    done();
  }).observe(document, { childList: true, subtree: true }))`);
  const writingMs = performance.now() - beganMs;
  ms += writingMs;
  return { ms, peakBytes: memory?.peakBytes(), toldASecond: events.stop() / (writingMs / 1000) };
}

/** What the page's own token lets us ask for. */
async function asPage() {
  const cookies = (await context.cookies()).map(({ name, value }) => `${name}=${value}`).join('; ');
  return { cookie: cookies, 'x-desk-token': await page.evaluate("localStorage.getItem('stickwright-token')") };
}

async function countEvents() {
  const over = new AbortController();
  const answer = await fetch(`${desk.origin}/api/events`, { headers: await asPage(), signal: over.signal });
  let times = 0;
  const hear = async () => {
    for await (const chunk of answer.body.pipeThrough(new TextDecoderStream()))
      times += chunk.split('data: ').length - 1;
  };
  hear().catch(() => {});
  const stop = () => {
    over.abort();
    return times;
  };
  return { stop };
}

/** What a person waits for, from the touch to the frame that shows what it did. */
async function manyRooms() {
  const lines = readFileSync('samples/rooms/quillhaven.csv', 'utf8').trim().split('\n');
  const [head, rows] = [lines.slice(0, 4), lines.slice(4)];
  const cells = rows.map((row) => row.split(';').map((cell, at) => (at === 3 || at === 4 ? '' : cell)));
  const many = Array.from({ length: 2000 }, (_, at) => {
    const [first, ...rest] = cells[at % cells.length];
    return [`Annexe ${Math.floor(at / cells.length)} ${first}`, ...rest].join(';');
  });
  const post = async (path, body) =>
    await fetch(`${desk.origin}/api/round/list${path}`, { method: 'POST', headers: await asPage(), body });
  await post('?name=many.csv', [...head, ...many].join('\n'));
  const beganMs = performance.now();
  const plan = await post('/plan', JSON.stringify({ mode: 'in-os', sticks: 4, isNew: true }));
  say('2,000 rooms are planned', `${((performance.now() - beganMs) / 1000).toFixed(1)} s, answer ${plan.status}`);
  await page.goto(`${desk.origin}/#round/plan`);
  await page.locator('.roll-line').first().waitFor();
  const until = (act) =>
    page.evaluate(`(async () => {
    const roll = document.querySelector('.roll');
    const search = document.querySelector('input[type=search]');
    const show = document.querySelector('.filters select');
    const say = (field, value, name) => { field.value = value; field.dispatchEvent(new Event(name, { bubbles: true })); };
    const times = [];
    for (let time = 0; time < 12; time += 1) {
      await new Promise((resolve) => setTimeout(resolve, 50));
      const began = performance.now();
      ${act}
      await new Promise((resolve) => requestAnimationFrame(() => setTimeout(resolve)));
      times.push(performance.now() - began);
    }
    return times;
  })()`);
  const worst = (times) => `${Math.round(median(times))} ms, at worst ${Math.round(Math.max(...times))} ms`;
  say(
    'among them: a letter typed into the search',
    worst(await until(`say(search, 'annexe 1'.slice(0, time % 9), 'input');`)),
  );
  say(
    'among them: shown by what they need',
    worst(await until(`say(show, show.options[time % show.options.length].value, 'change');`)),
  );
  say('among them: all again', worst(await until(`say(show, '', 'change'); say(search, '', 'input');`)));
  say('among them: a page further', worst(await until('roll.scrollTop += roll.clientHeight;')));
  say(
    'among them: to the end and back',
    worst(await until('roll.scrollTop = time % 2 === 0 ? roll.scrollHeight : 0;')),
  );
  say(
    'among them: a room is chosen',
    worst(await until("document.querySelectorAll('.roll-line button')[time].click();")),
  );
}

/** Bytes of PID and all its children at the worst moment, shared pages counted once (proc(5): Pss). */
function watchMemory(pid) {
  let most = 0;
  const look = () => {
    most = Math.max(
      most,
      familyOf(pid).reduce((sum, one) => sum + pssOf(one), 0),
    );
  };
  const timer = setInterval(look, 50);
  const peakBytes = () => {
    clearInterval(timer);
    return most;
  };
  return { peakBytes };
}

function familyOf(pid) {
  const parents = readdirSync('/proc')
    .filter((name) => /^\d+$/.test(name))
    .flatMap((name) => {
      const [, parent] = / \w (\d+) /.exec(readOr(`/proc/${name}/stat`)) ?? [];
      return parent === undefined ? [] : [[Number(name), Number(parent)]];
    });
  const below = (one) => [one, ...parents.filter(([, parent]) => parent === one).flatMap(([child]) => below(child))];
  return below(pid);
}

function pssOf(pid) {
  const [, kibibytes = '0'] = /^Pss: +(\d+)/m.exec(readOr(`/proc/${pid}/smaps_rollup`)) ?? [];
  return Number(kibibytes) * 1024;
}

function readOr(path) {
  try {
    return readFileSync(path, 'utf8');
  } catch {
    return '';
  }
}
