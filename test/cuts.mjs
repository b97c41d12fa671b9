// `npm run cuts`: what is cut, broken, flipped and pulled, whole, where `npm test` takes a sample. Takes hours on two
// cores; `npm run cuts -- kill forced` runs the parts whose file has one of these words in its name.
import { spawnSync } from 'node:child_process';
import { root, setUp } from '../bin/set-up.mjs';

setUp();
const tests = [
  'test/workflows/cut-anywhere.test.ts',
  'test/workflows/faults.test.ts',
  'test/workflows/returned-cuts.test.ts',
  'test/cli/kill.test.ts',
  'test/cli/forced-end.test.ts',
  'test/outside/ready-is-on-the-medium.test.ts',
  'test/workflows/one-volume.test.ts',
  'test/outside/sound-sticks.test.ts',
  'test/outside/every-bit.test.ts',
  'test/outside/uboot-reads-bits.test.ts',
];
const words = process.argv.slice(2);
const chosen = tests.filter((test) => words.length === 0 || words.some((word) => test.includes(word)));
if (chosen.length === 0) {
  process.stderr.write(`No part has such a name. There are:\n  ${tests.join('\n  ')}\n`);
  process.exit(2);
}
const { status } = spawnSync(
  process.execPath,
  ['node_modules/vitest/vitest.mjs', 'run', '--config', 'test/vitest.config.ts', '--root', '.', ...chosen],
  { cwd: root, stdio: 'inherit', env: { ...process.env, STICKWRIGHT_CUTS: 'all' } },
);
process.exit(status ?? 1);
