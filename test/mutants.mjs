// `npm run mutants`: breaks the source in thousands of small ways, one at a time, and shows which of them no test
// notices. By hand: a part takes minutes to an hour on two cores, and `npm run mutants -- plan build` takes the parts
// with these names. What was judged once and has not changed is not run again (out/mutants). Texts of messages are left
// alone.
import { mkdirSync } from 'node:fs';
import { Stryker } from '@stryker-mutator/core';
import { root, setUp } from '../bin/set-up.mjs';

setUp();
process.chdir(root);

/** Name of a part → what is broken in it. */
const parts = {
  archive: ['src/core/checks/archive'],
  fit: ['src/core/checks/fit', 'src/core/label'],
  build: ['src/core/build'],
  plan: ['src/core/plan', 'src/core/contents'],
  stick: ['src/core/checks/stick', 'src/core/checks/medium'],
  verify: ['src/core/checks/verify', 'src/core/manifest', 'src/core/documents'],
  update: ['src/core/checks/update'],
  shelf: ['src/core/shelf'],
  returned: ['src/core/returned'],
};

const words = process.argv.slice(2);
const chosen = Object.keys(parts).filter((name) => words.length === 0 || words.includes(name));
if (chosen.length === 0 || words.some((word) => !(word in parts))) {
  process.stderr.write(`There are these parts: ${Object.keys(parts).join(', ')}\n`);
  process.exit(2);
}

process.env.STICKWRIGHT_MUTANTS = 'pure';
let survived = 0;
for (const name of chosen) {
  mkdirSync('out/mutants', { recursive: true });
  const results = await new Stryker({
    mutate: parts[name].map((folder) => `${folder}/**/*.ts`),
    testRunner: 'vitest',
    plugins: ['@stryker-mutator/vitest-runner'],
    vitest: { configFile: 'test/vitest.config.ts' },
    coverageAnalysis: 'perTest',
    ignoreStatic: true,
    mutator: { excludedMutations: ['StringLiteral'] },
    incremental: true,
    incrementalFile: `out/mutants/${name}.json`,
    reporters: ['clear-text', 'html', 'progress-append-only'],
    clearTextReporter: { allowColor: false, reportTests: false, reportScoreTable: true },
    htmlReporter: { fileName: `out/mutants/${name}.html` },
    tempDirName: 'out/mutants/tmp',
    ignorePatterns: ['out', 'dist', 'samples/schemas'],
    concurrency: 2,
    timeoutMS: 20_000,
    allowConsoleColors: false,
  }).runMutationTest();
  survived += results.filter(({ status }) => status === 'Survived' || status === 'NoCoverage').length;
}
process.stdout.write(`${survived} mutants were noticed by no test.\n`);
