import { fileURLToPath } from 'node:url';
import { defineConfig, type Plugin } from 'vitest/config';
import { BaseSequencer, type TestSpecification } from 'vitest/node';
import { promises } from './promises.mjs';

const findingsMade = fileURLToPath(new URL('./findings-made.ts', import.meta.url));

/** Lets the tests see which findings the code makes, without a word in the code. */
const seeFindings: Plugin = {
  name: 'see-findings',
  enforce: 'pre',
  resolveId: (source, importer = '') =>
    source.endsWith('/finding.ts') && /\/src\//.test(importer) ? findingsMade : undefined,
};

// Minutes each. One that comes last runs alone, and the second core waits for it.
const takeMinutes =
  /\/(sticks-on-the-bus|pulled-sticks|exfat-damage|windows|ready-is-on-the-medium|window\/hanging)\.test\.ts$/;

class LongOnesFirst extends BaseSequencer {
  override async sort(files: TestSpecification[]): Promise<TestSpecification[]> {
    const isShort = ({ moduleId }: TestSpecification): number => (takeMinutes.test(moduleId) ? 0 : 1);
    return (await super.sort(files)).toSorted((one, other) => isShort(one) - isShort(other));
  }
}

export default defineConfig({
  plugins: [seeFindings],
  test: {
    // What nobody runs is no test: `npm run sticks` takes minutes more.
    include: ['test/**/*.test.ts', ...(process.env.STICKWRIGHT_STICKS === 'all' ? ['test/**/*.by-hand.ts'] : [])],
    setupFiles: [findingsMade],
    testTimeout: 60_000,
    hookTimeout: 60_000,
    // As long as anything else is waited for: a busy machine is no fault.
    expect: { poll: { timeout: 40_000 } },
    pool: 'forks',
    maxWorkers: 2,
    sequence: { sequencer: LongOnesFirst },
    tags: promises,
  },
});
