// `npm test`: sets up, then the whole gate: format and lint, types, dead code, layers and tests. All run; any fault
// fails.
import { spawnSync } from 'node:child_process';
import { existsSync, mkdirSync, readFileSync, rmSync } from 'node:fs';
import { dirname, join, relative } from 'node:path';
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
  ['Types of what runs in a browser', 'node_modules/typescript/bin/tsc', '-p', 'src/page'],
  ['Types of what runs in a phone', 'node_modules/typescript/bin/tsc', '-p', 'src/pocket'],
  ['Dead code', 'node_modules/knip/bin/knip.js', '--config', 'test/knip.json'],
  [
    'Tests, with the layers and the outside checks among them',
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
const namesByFile = new Map();
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
const waiting = countWaiting(tests.filter(({ status }) => status === 'skipped'));
for (const [what, checks] of waiting) process.stdout.write(`missing: ${what}. ${checks} wait for it\n`);
const notShown = findCodesNotShown(testResults);
for (const [code, why] of notShown) process.stdout.write(`no test shows ${code}: ${why}\n`);
// What waits for a program may be what shows it; with CI=true nothing waits.
if (notShown.length > 0 && (waiting.length === 0 || process.env.CI === 'true')) failed.push('Codes');
process.stdout.write(`\n${numPassedTests} passed, ${numFailedTests} failed, ${numPendingTests} skipped\n`);
if (failed.length > 0) process.stdout.write(`Failed: ${failed.join('; ')}\n`);
process.exit(failed.length === 0 && numPassedTests > 0 ? 0 : 1);

/**
 * For what each of SKIPPED waits, by the words in brackets (`test/outside/needs.ts`), and how many do; one may wait for
 * several.
 */
function countWaiting(skipped) {
  const counts = new Map();
  for (const { title } of skipped) {
    const waitsFor = /\[did not run: (.*)\]$/.exec(title)?.[1].split('; ') ?? [`what it runs on: ${title}`];
    for (const what of waitsFor) counts.set(what, (counts.get(what) ?? 0) + 1);
  }
  return [...counts].toSorted(([a], [b]) => a.localeCompare(b));
}

/**
 * The codes of the catalogue that no test shows. One does whose file names the code, itself or in a fixture that it
 * uses, and during which `src` made the finding (`test/findings-made.ts` wrote that down). Facts that are invented for
 * any code show none.
 */
function findCodesNotShown(files) {
  const told = spawnSync(process.execPath, ['bin/stickwright.js', 'explain'], { encoding: 'utf8' }).stdout;
  const codes = [...told.matchAll(/^ {2}([a-z]+\/[a-z0-9-]+) /gm)].map(([, code]) => code);
  const makers = new Map(codes.map((code) => [code, []]));
  for (const { name, assertionResults } of files) {
    const path = relative(root, name);
    if (/^test\/(core\/findings|render|architecture)\//.test(path)) continue;
    const passed = assertionResults.filter(({ status }) => status === 'passed');
    for (const code of new Set(passed.flatMap(({ meta }) => meta?.made ?? []))) makers.get(code)?.push(path);
  }
  return codes.flatMap((code) => {
    const files = makers.get(code) ?? [];
    if (files.some((file) => namesIn(file).has(code))) return [];
    return [
      [code, files.length === 0 ? 'none makes it' : `it is made, but not named, in ${files.slice(0, 3).join(', ')}`],
    ];
  });
}

/** Everything that looks like a code in a test and the fixtures that it imports, but for comments. */
function namesIn(test) {
  const known = namesByFile.get(test);
  if (known !== undefined) return known;
  const textOf = (file) => readFileSync(file, 'utf8').replace(/^ *\/\*[\s\S]*?\*\/|(^|\s)\/\/.*$/gm, '');
  const text = textOf(test);
  const imported = [...text.matchAll(/from '(\.[^']*\.ts)'/g)].map(([, path]) => join(dirname(test), path));
  const fixtures = imported.filter(
    (path) => path.startsWith('test/') && !path.endsWith('any-facts.ts') && existsSync(path),
  );
  const all = [text, ...fixtures.map(textOf)].join('\n').replaceAll('\\/', '/');
  const names = new Set(all.match(/[a-z]+\/[a-z0-9-]+/g));
  namesByFile.set(test, names);
  return names;
}

function readResults() {
  try {
    return JSON.parse(readFileSync(results, 'utf8'));
  } catch {
    return {};
  }
}
