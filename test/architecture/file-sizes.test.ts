import { readdirSync, readFileSync } from 'node:fs';
import { describe, expect, it } from 'vitest';

/** The catalogue holds data: texts, one after the other. */
const isData = (path: string): boolean => path.startsWith('src/core/findings/catalogue/');

const files = readdirSync('src', { recursive: true, encoding: 'utf8' })
  .map((path) => `src/${path.replaceAll('\\', '/')}`)
  .filter((path) => /\.(tsx?|js)$/.test(path))
  .map((path) => ({ path, lines: readFileSync(path, 'utf8').split('\n').length - 1 }))
  .toSorted((one, other) => one.lines - other.lines);

describe('comments', () => {
  it('stay within 120 columns', () => {
    const long = ['src', 'test', 'bin', 'samples'].flatMap((room) =>
      readdirSync(room, { recursive: true, encoding: 'utf8' })
        .filter((path) => /\.[cm]?[jt]sx?$/.test(path) && !path.startsWith('fixtures/version-'))
        .flatMap((path) =>
          readFileSync(`${room}/${path}`, 'utf8')
            .split('\n')
            .flatMap((line, at) =>
              line.length > 120 && /^\s*(\/\/|\*|\/\*)/.test(line) ? [`${room}/${path}:${at + 1}`] : [],
            ),
        ),
    );
    expect(long).toEqual([]);
  });
});

describe('the files of the source', () => {
  it('fit the head: none is longer than 250 lines but data', () => {
    expect(files.filter(({ path, lines }) => lines > 250 && !isData(path))).toEqual([]);
  });

  it('are worth opening: the one in the middle has 80 to 120 lines', () => {
    const median = files[files.length >> 1]?.lines ?? 0;
    expect(median).toBeGreaterThanOrEqual(80);
    expect(median).toBeLessThanOrEqual(120);
  });
});
