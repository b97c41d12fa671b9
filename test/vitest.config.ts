import { fileURLToPath } from 'node:url';
import { defineConfig, type Plugin } from 'vitest/config';
import { promises } from './promises.mjs';

const findingsMade = fileURLToPath(new URL('./findings-made.ts', import.meta.url));

/** Lets the tests see which findings the code makes, without a word in the code. */
const seeFindings: Plugin = {
  name: 'see-findings',
  enforce: 'pre',
  resolveId: (source, importer = '') =>
    source.endsWith('/finding.ts') && /\/src\//.test(importer) ? findingsMade : undefined,
};

export default defineConfig({
  plugins: [seeFindings],
  test: {
    include: ['test/**/*.test.ts'],
    setupFiles: [findingsMade],
    testTimeout: 60_000,
    hookTimeout: 60_000,
    // As long as anything else is waited for: a busy machine is no fault.
    expect: { poll: { timeout: 40_000 } },
    pool: 'forks',
    maxWorkers: 2,
    tags: promises,
  },
});
