import { spawnSync } from 'node:child_process';
import { describe, expect } from 'vitest';
import { itWithout, needs } from '../outside/needs.ts';

const isHere = process.platform === 'linux' && process.arch === 'x64';
const itThere = isHere
  ? needs({ chromium: 'chromium', zbarimg: 'zbar-tools' })
  : itWithout('Linux on x64, for which it is pinned');

// A phone is some years behind. Chromium 119 is of November 2023; DEVELOPERS says how others are tried by hand.
describe('the pocket in Chromium 119', { timeout: 400_000 }, () => {
  itThere('goes the whole way, from the scanned card to what the desk has', () => {
    const fetched = spawnSync(process.execPath, ['bin/fetch-chromium.mjs', '119'], { encoding: 'utf8' });
    expect(fetched.status, fetched.stderr).toBe(0);
    const words = ['node_modules/vitest/vitest.mjs', 'run', '--config', 'test/vitest.config.ts', '--root', '.'];
    const others = Object.entries(process.env).filter(([name]) => !/^(VITEST|NODE_OPTIONS$|TEST$)/.test(name));
    const env = { ...Object.fromEntries(others), STICKWRIGHT_PHONE_BROWSER: fetched.stdout.trim() };
    const done = spawnSync(process.execPath, [...words, '--reporter=json', 'test/pocket/at-the-panel.test.ts'], {
      env,
      encoding: 'utf8',
      maxBuffer: 2 ** 27,
    });
    const { numPassedTests } = JSON.parse(done.stdout.slice(done.stdout.indexOf('{"numTotal')));
    expect([numPassedTests, done.status], done.stdout.slice(-2_000)).toEqual([1, 0]);
  });
});
