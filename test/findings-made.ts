import { afterEach } from 'vitest';
import { type FindingCode, isFindingCode } from '../src/core/findings/catalogue.ts';
import * as genuine from '../src/core/findings/finding.ts';

/**
 * Stands before `src/core/findings/finding.ts` for what is in `src` (`vitest.config.ts` sees to that), writes down
 * which findings the code itself makes while a test runs, and lets no test pass in which one of them cannot be said
 * whole. A test that makes one by hand reaches the genuine one, and makes nothing that counts.
 */
export * from '../src/core/findings/finding.ts';

declare module 'vitest' {
  interface TaskMeta {
    /** What `run.mjs` reads from the results. */
    made?: readonly string[];
  }
}

const made = new Set<FindingCode>();
/** Findings whose words have a hole: a fact is missing, or there is nothing in a list that is told. */
const holes = new Set<string>();

export const finding = ((code, ...rest) => {
  made.add(code);
  const found = genuine.finding(code, ...rest);
  const hole = /\bundefined\b|\bNaN\b|\[object |: \.(?=\s|$)|: ;|: $/;
  try {
    const { seen, todo } = genuine.textsOf(found);
    const words = `${seen} ${todo}`;
    // What strangers wrote may look like one.
    if (hole.test(words) && !hole.test(`${found.subject} ${JSON.stringify(found.facts)}`))
      holes.add(`${code}: ${words}`);
  } catch (error) {
    holes.add(`${code}: ${error}`);
  }
  return found;
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
  const unsaid = [...holes];
  holes.clear();
  if (unsaid.length > 0) throw new Error(`What is found cannot be said whole: ${unsaid.join('; ')}`);
});
