// `npm run sticks`: a technician's day and many pulled sticks on an emulated USB bus; `npm test` takes a few of those.
// Also a person who is signed in, with udisks; sticks whose power goes under user-mode Linux, and damaged exFAT sticks
// that Linux's own driver judges.
//     --seed N      other moments; the same seed goes on where an earlier sitting stopped (out/sticks/*.jsonl)
//     --pulls N     how many pulls on each way (100)
//     --minutes N   stop after so long
//     --only NAME   the tests that have NAME in their names, e.g. "vfat:" or "a stick in use"
//     --table       only the table of all pulls that were kept, which also stands at the end of every run
import { spawnSync } from 'node:child_process';
import { parseArgs } from 'node:util';
import { root, setUp } from '../bin/set-up.mjs';
import { readPulls, tableOf } from './pulls-table.mjs';

const word = { type: 'string' };
const { values } = parseArgs({
  options: { seed: word, pulls: word, minutes: word, only: word, table: { type: 'boolean' } },
});
process.chdir(root);
if (values.table) {
  printTable();
  process.exit(0);
}
setUp();
const { status } = spawnSync(
  process.execPath,
  [
    ...['node_modules/vitest/vitest.mjs', 'run', '--config', 'test/vitest.config.ts', '--root', '.'],
    ...['sticks-on-the-bus', 'signed-in', 'pulled-sticks', 'exfat-damage'].map((name) => `test/outside/${name}.`),
    '--reporter=verbose',
    ...(values.only === undefined ? [] : ['--testNamePattern', values.only.replace(/[^\w ]/g, '\\$&')]),
  ],
  {
    cwd: root,
    stdio: 'inherit',
    env: {
      ...process.env,
      STICKWRIGHT_STICKS: 'all',
      STICKWRIGHT_PULLS: values.pulls ?? '100',
      ...(values.seed === undefined ? {} : { STICKWRIGHT_SEED: values.seed }),
      ...(values.minutes === undefined ? {} : { STICKWRIGHT_MINUTES: values.minutes }),
    },
  },
);
printTable();
process.exit(status ?? 1);

function printTable() {
  const pulls = readPulls('out/sticks');
  if (pulls.length > 0) process.stdout.write(`${tableOf(pulls)}\n`);
}
