import { readdirSync, readFileSync } from 'node:fs';
import { describe, expect, it } from 'vitest';

const files = readdirSync('src', { recursive: true, encoding: 'utf8' })
  .map((path) => `src/${path.replaceAll('\\', '/')}`)
  .filter((path) => /\.(ts|js)$/.test(path))
  .map((path) => ({ path, text: readFileSync(path, 'utf8') }));

const outside = (room: string): readonly (typeof files)[number][] => files.filter(({ path }) => !path.startsWith(room));

const holding = (some: typeof files | ReturnType<typeof outside>, pattern: RegExp): readonly string[] =>
  some.filter(({ text }) => pattern.test(text)).map(({ path }) => path);

/** Also `{ finding: other }`, and a finding that is put together by hand. */
const makesOne =
  /\bfinding\s*\(|import[^;]*\{[^}]*\bfinding\b[^}]*\}[^;]*from|\{\s*finding\b[^}]*\}\s*=\s*await import/;
const byHand = /\bcode: '[a-z]+\/[a-z-]+',\s*subject\b/;

describe('findings', () => {
  it('are made by checks in core, and there they are made', () => {
    expect(holding(files, makesOne).length).toBeGreaterThan(50);
    expect(holding(outside('src/core/'), makesOne)).toEqual([]);
    expect(holding(outside('src/core/'), byHand)).toEqual([]);
  });

  it('are not known to io, which reports what it saw; but for files of the desk that work rests on', () => {
    const known = /from '(\.\.\/)+core\/(findings\/finding|checks\/[^']*)\.ts'/;
    const asTypes = /import type \{(?![^}]*\bFinding\b)[^}]*\} from '(\.\.\/)+core\/checks\/[^']*';\n/g;
    const io = files.filter(({ path }) => path.startsWith('src/io/'));
    const judging = io.filter(({ text }) => known.test(text.replaceAll(asTypes, ''))).map(({ path }) => path);
    expect(judging.toSorted()).toEqual([
      // An unsound family file, and a kept list that cannot be understood any more, are no answer at all to who needs
      // one.
      'src/io/families/load-families.ts',
      'src/io/rounds/copy-list.ts',
    ]);
  });

  it('have their words in a browser where one makes them', () => {
    const [, kept = '^$'] = /judgedThere = \/(.*)\/;/.exec(readFileSync('bin/build.mjs', 'utf8')) ?? [];
    const catalogue = files.filter(({ path }) => path.startsWith('src/core/findings/catalogue/'));
    const wordless = ['page/page', 'pocket/pocket'].flatMap((bundle) => {
      const { sources } = JSON.parse(readFileSync(`dist/${bundle}.js.map`, 'utf8')) as { sources: readonly string[] };
      const inIt = files.filter(({ path }) => sources.some((source) => source.endsWith(path)));
      const codes = inIt.flatMap(({ text }) =>
        [...text.matchAll(/\bfinding\(\s*([^,)]*)/g)].map(([, code = '']) => code),
      );
      expect(codes.length, bundle).toBeGreaterThan(20);
      // Of more alike than anybody reads; no browser is given so many.
      return codes
        .filter((code) => code !== "'archive/more-alike'" && code !== '')
        .filter(
          (code) => !catalogue.some(({ path, text }) => text.includes(`${code}: `) && new RegExp(kept).test(path)),
        );
    });
    expect(wordless).toEqual([]);
  });
});
