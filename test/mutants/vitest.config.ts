import { existsSync, readFileSync } from 'node:fs';
import { join, relative } from 'node:path';
import { fileURLToPath } from 'node:url';
import { mergeConfig, type Plugin } from 'vitest/config';
import asTested from '../vitest.config.ts';

/** Loads what `run.mjs` wrote with all mutants in it in the place of the source. */
const withMutants: Plugin = {
  name: 'with-mutants',
  enforce: 'pre',
  load(id) {
    const path = join(process.env.STICKWRIGHT_MUTANTS ?? '', relative('.', id));
    return path.includes('/src/') && existsSync(path) ? readFileSync(path, 'utf8') : undefined;
  },
};

export default mergeConfig(asTested, {
  plugins: [withMutants],
  test: { runner: fileURLToPath(new URL('./try-mutants.ts', import.meta.url)), reporters: ['dot'], silent: true },
});
