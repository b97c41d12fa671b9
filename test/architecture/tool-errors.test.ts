import { readdirSync, readFileSync } from 'node:fs';
import { describe, expect, it } from 'vitest';

const files = readdirSync('src', { recursive: true, encoding: 'utf8' })
  .map((path) => path.replaceAll('\\', '/'))
  .filter((path) => path.endsWith('.ts'))
  .map((path) => ({ path, text: readFileSync(`src/${path}`, 'utf8') }));

const home = 'core/model/tool-error.ts';

const outsideIoHolding = (pattern: RegExp): readonly string[] =>
  files
    .filter(({ path, text }) => !path.startsWith('io/') && path !== home && pattern.test(text))
    .map(({ path }) => path)
    .toSorted();

describe('ToolErrors', () => {
  it('are made in io, beside what was asked; and nowhere else are they caught by their class', () => {
    expect(files.filter(({ text }) => text.includes('new ToolError(')).length).toBeGreaterThan(20);
    expect(outsideIoHolding(/new ToolError\(/)).toEqual([]);
    expect(outsideIoHolding(/instanceof ToolError/)).toEqual([]);
  });

  it('are kept, whatever their code, only where the others of several go on', () => {
    const keepers = {
      'cli/frame/report-failure.ts': 'shows it',
      'server/answer-to.ts': 'shows it to the page that asked',
      'server/away/piece-at-work.ts': 'shows it, beside other work that goes on',
      'server/rounds.ts': 'another round can still be laid on the desk, and why this one cannot be read is said',
      'server/routes/verify.ts': 'what a stick brought back is said, also where its round cannot note it',
      'workflows/round-desk.ts': 'records can be read without the families that the plan was made with, and it is said',
      'workflows/round-prepare.ts': 'one stick of several; and one that cannot be read has no code',
      'workflows/shelf-add.ts': 'one archive of several',
      'workflows/shelf-check.ts': 'one package of several',
      'workflows/stick/stick-run.ts': 'one stick of several, a bug among what is kept',
    };
    expect(outsideIoHolding(/\b(failureOf|unforeseen)\(/)).toEqual(Object.keys(keepers));
  });

  it("tell a word of the system's from a fault of Node's in one way", () => {
    // Node gives its own errors a code too (ERR_INVALID_ARG_VALUE): that is a bug, and no answer about a file.
    const others = files.filter(({ text }) => /\bErrnoException\b/.test(text)).map(({ path }) => path);
    expect(others).toEqual(['io/volume/folder/folder-path.ts']); // which call it was, and of which path
  });
});
