// `npm test`: sets up, then the whole gate: format and lint, types, dead code, rooms and tests. All run; any fault fails.
import { spawnSync } from 'node:child_process';
import { mkdirSync, readFileSync, rmSync } from 'node:fs';
import { root, setUp } from '../bin/set-up.mjs';
import { promises } from './promises.mjs';

setUp();
process.chdir(root);
mkdirSync('out', { recursive: true });
const results = 'out/test-results.json';
rmSync(results, { force: true });

const stages = [
  ['Format and lint', 'node_modules/@biomejs/biome/bin/biome', 'ci', '.'],
  ['Types', 'node_modules/typescript/bin/tsc', '--noEmit', '-p', 'test'],
  ['Dead code', 'node_modules/knip/bin/knip.js', '--config', 'test/knip.json'],
  [
    'Tests, with the rooms and the outside checks among them',
    'node_modules/vitest/vitest.mjs',
    'run',
    '--config',
    'test/vitest.config.ts',
    '--root',
    '.',
    '--reporter=default',
    '--reporter=json',
    `--outputFile.json=${results}`,
  ],
];

const failed = [];
for (const [title, script, ...args] of stages) {
  process.stdout.write(`\n== ${title}\n`);
  const done = spawnSync(process.execPath, [script, ...args], { stdio: 'inherit' });
  if (done.status !== 0) failed.push(title);
}

const { numPassedTests = 0, numFailedTests = 0, numPendingTests = 0, testResults = [] } = readResults();
const tests = testResults.flatMap(({ assertionResults }) => assertionResults);
// One that could not run here says so by itself, and with CI=true it has failed.
const held = new Set(tests.filter(({ status }) => status !== 'failed').flatMap(({ tags = [] }) => tags));
const unheld = promises.filter(({ name }) => !held.has(name));
for (const { name, description } of unheld) process.stdout.write(`no test holds the promise ${name}: ${description}\n`);
if (unheld.length > 0) failed.push('Promises');
const skipped = tests.filter(({ status }) => status === 'skipped');
for (const [what, checks] of countWaiting(skipped)) process.stdout.write(`missing: ${what}. ${checks} wait for it\n`);
process.stdout.write(`\n${numPassedTests} passed, ${numFailedTests} failed, ${numPendingTests} skipped\n`);
if (failed.length > 0) process.stdout.write(`Failed: ${failed.join('; ')}\n`);
process.exit(failed.length === 0 && numPassedTests > 0 ? 0 : 1);

/** For what each of SKIPPED waits, by the words in brackets (`test/outside/needs.ts`), and how many do; one may wait for several. */
function countWaiting(skipped) {
  const counts = new Map();
  for (const { title } of skipped) {
    const waitsFor = /\[did not run: (.*)\]$/.exec(title)?.[1].split('; ') ?? [`what it runs on: ${title}`];
    for (const what of waitsFor) counts.set(what, (counts.get(what) ?? 0) + 1);
  }
  return [...counts].toSorted(([a], [b]) => a.localeCompare(b));
}

function readResults() {
  try {
    return JSON.parse(readFileSync(results, 'utf8'));
  } catch {
    return {};
  }
}
