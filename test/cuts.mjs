// `npm run cuts`: every cut and fault of the small preparations, where `npm test` takes a sample. Takes about a quarter of an hour.
import { spawnSync } from 'node:child_process';
import { root, setUp } from '../bin/set-up.mjs';

setUp();
const tests = [
  'test/workflows/cut-anywhere.test.ts',
  'test/workflows/faults.test.ts',
  'test/cli/kill.test.ts',
  'test/cli/forced-end.test.ts',
  'test/outside/ready-is-on-the-medium.test.ts',
  'test/workflows/one-volume.test.ts',
  'test/workflows/short-names.test.ts',
  'test/outside/sound-sticks.test.ts',
];
const { status } = spawnSync(
  process.execPath,
  ['node_modules/vitest/vitest.mjs', 'run', '--config', 'test/vitest.config.ts', '--root', '.', ...tests],
  { cwd: root, stdio: 'inherit', env: { ...process.env, STICKWRIGHT_CUTS: 'all' } },
);
process.exit(status ?? 1);
