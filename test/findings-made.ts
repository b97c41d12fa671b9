import { afterEach } from 'vitest';
import type { FindingCode } from '../src/core/findings/catalogue.ts';
import * as genuine from '../src/core/findings/finding.ts';

/**
 * Stands before `src/core/findings/finding.ts` for what is in `src` (`vitest.config.ts` sees to that), and writes down which findings
 * the code itself makes while a test runs. A test that makes one by hand reaches the genuine one, and makes nothing that counts.
 */
export * from '../src/core/findings/finding.ts';

declare module 'vitest' {
  interface TaskMeta {
    /** What `run.mjs` reads from the results. */
    made?: readonly string[];
  }
}

const made = new Set<FindingCode>();

export const finding = ((code, ...rest) => {
  made.add(code);
  return genuine.finding(code, ...rest);
}) as typeof genuine.finding;

afterEach(({ task }) => {
  if (made.size > 0) task.meta.made = [...made];
  made.clear();
});
