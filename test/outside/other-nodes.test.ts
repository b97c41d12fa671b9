import { spawnSync } from 'node:child_process';
import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, beforeAll, describe, expect, vi } from 'vitest';
import { stickwright } from '../fixtures/command.ts';
import { makeArchive, packageName, panelLabel } from '../fixtures/desk.ts';
import { makeScratch } from '../fixtures/volumes/scratch.ts';
import {
  enter,
  layDesk,
  openDesk,
  planFirstStick,
  sampleLabel,
  startBrowser,
  writeAsShown,
} from '../fixtures/window/open-desk.ts';
import { itWithout, needs } from './needs.ts';

// What `engines` promises beyond the Node that the gate itself runs on: the lines that are in use, as published.
vi.setConfig({ testTimeout: 600_000, hookTimeout: 600_000 });

const folder = mkdtempSync(join(tmpdir(), 'stickwright nodes-'));
afterAll(() => rmSync(folder, { recursive: true, force: true }));
const isHere = process.platform === 'linux' && process.arch === 'x64';
const hint = 'Linux on x64, for which these are pinned';
const itThere = isHere ? needs({}) : itWithout(hint);
const itInWindow = isHere ? needs({ chromium: 'chromium' }) : itWithout(hint);
// What leans on Node most: files and devices, streams, workers, WebAssembly, compression.
const slice = [
  'test/io/archive/read-through.test.ts',
  'test/io/volume/fat-images.test.ts',
  'test/io/volume/write-behind.test.ts',
  'test/io/rooms/sample-list.test.ts',
  'test/workflows/prepare.test.ts',
];

describe.each(['24', '26'])('Node %s', (line) => {
  let node = '';
  beforeAll(() => {
    if (!isHere) return;
    const fetched = spawnSync(process.execPath, ['bin/fetch-node.mjs', line], { encoding: 'utf8' });
    expect(fetched.status, fetched.stderr).toBe(0);
    node = fetched.stdout.trim();
  });

  itThere('does the main job', async () => {
    expect(spawnSync(node, ['--version'], { encoding: 'utf8' }).stdout).toMatch(new RegExp(`^v${line}\\.`));
    const firmware = await makeArchive(folder);
    const image = join(folder, `${line}.img`);
    const command = (...words: readonly string[]) =>
      spawnSync(node, ['bin/stickwright.js', ...words], {
        env: { ...process.env, STICKWRIGHT_FAMILIES: 'samples/families' },
        encoding: 'utf8',
      });
    const inspected = command('inspect', firmware, '--label', panelLabel);
    expect([inspected.status, inspected.stdout]).toEqual([4, expect.stringContaining('[fit/fits]')]);
    const job = ['--mode', 'recovery', '--label', panelLabel, '--image', image, '--size', '64MB', '--yes'];
    const prepared = command('prepare', firmware, ...job);
    expect([prepared.status, prepared.stdout]).toEqual([4, expect.stringContaining('read back')]);
    const verified = command('verify', image, '--label', panelLabel);
    expect(verified.stdout).toContain(packageName);
    expect([prepared, verified].map(({ stderr }) => stderr).join('')).not.toMatch(/warning|deprecat/i);
    expect(command('verify', image, '--label', 'K3-second 75/5B').status).toBe(1);
  });

  itInWindow('serves the window, and prepares the first stick through it', async () => {
    const scratch = makeScratch();
    const browser = await startBrowser();
    // Each piece of work has a process of its own, by the same Node and with words for its heap.
    const desk = await openDesk(await layDesk(scratch), [], { around: ([, ...words]) => [node, ...words] });
    try {
      const page = await enter(await browser.newContext(), desk);
      const code = await writeAsShown(page, await planFirstStick(page, /stick-1\.img/));
      const verified = stickwright(['verify', desk.sticks[0] ?? '', '--label', sampleLabel, '--mode', 'in-os']);
      expect([verified.exitCode, verified.stdout]).toEqual([0, expect.stringContaining(code)]);
      expect(desk.said()).not.toMatch(/warning|deprecat|bad option/i);
      expect(await desk.end()).toBe(0);
    } finally {
      await browser.close();
      await desk.end();
      scratch.undo();
    }
  });

  itThere('passes a slice of the tests', () => {
    const words = ['node_modules/vitest/vitest.mjs', 'run', '--config', 'test/vitest.config.ts', '--root', '.'];
    const others = Object.entries(process.env).filter(([name]) => !/^(VITEST|NODE_OPTIONS$|TEST$)/.test(name));
    const env = Object.fromEntries(others);
    const done = spawnSync(node, [...words, '--reporter=json', ...slice], {
      env,
      encoding: 'utf8',
      maxBuffer: 2 ** 27,
    });
    const { numPassedTests, numFailedTests } = JSON.parse(done.stdout.slice(done.stdout.indexOf('{"numTotal')));
    expect([numFailedTests, done.status]).toEqual([0, 0]);
    expect(numPassedTests).toBeGreaterThan(50);
  });
});
