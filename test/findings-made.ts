import { afterEach } from 'vitest';
import { type FindingCode, isFindingCode } from '../src/core/findings/catalogue.ts';
import * as genuine from '../src/core/findings/finding.ts';

/**
 * Stands before `src/core/findings/finding.ts` for what is in `src` (`vitest.config.ts` sees to that), and writes down
 * which findings the code itself makes while a test runs. A test that makes one by hand reaches the genuine one, and
 * makes nothing that counts.
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

/** The genuine one makes its finding beside us: what comes out and did not go in is that. */
export const fewAlike: typeof genuine.fewAlike = (findings) => {
  const few = genuine.fewAlike(findings);
  for (const found of few) if (!findings.includes(found)) made.add(found.code);
  return few;
};

/**
 * What the built command said in a process of its own: `[area/code]` in its words, a code before its severity in its
 * JSON.
 */
export function noteSpoken(output: string): void {
  for (const [, code = ''] of output.matchAll(/(?:\[|"code": ?")([a-z]+\/[a-z0-9-]+)(?=\]|",\s*"severity")/g))
    if (isFindingCode(code)) made.add(code);
}

afterEach(({ task }) => {
  if (made.size > 0) task.meta.made = [...made];
  made.clear();
});
