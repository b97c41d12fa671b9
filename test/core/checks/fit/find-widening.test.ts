import fc from 'fast-check';
import { describe, expect, it, test } from 'vitest';
import { checkFit } from '../../../../src/core/checks/fit/check-fit.ts';
import { checkLabel } from '../../../../src/core/checks/fit/check-label.ts';
import {
  changesInWords,
  placeInWords,
  widenForLabel,
  widenForPackage,
} from '../../../../src/core/checks/fit/find-widening.ts';
import { textsOf } from '../../../../src/core/findings/finding.ts';
import { readLabel, readPackageName } from '../../../../src/core/label/read-label.ts';
import { readWithGrammar } from '../../../../src/core/label/read-with-grammar.ts';
import { readAnew, widenPattern } from '../../../../src/core/label/widen-pattern.ts';
import { familyNamed, sampleFamilies } from '../../label/families.ts';

const families = await sampleFamilies();
const sedge = familyNamed(families, 'sedge');

describe('a label that differs only by a number of digits', () => {
  it('is said to, with the line of the family file, instead of being sent back to a plate that was read right', () => {
    const label = readLabel('K12-second 75/5B', families);
    const [found, ...others] = checkLabel(label, families);
    expect([found?.code, others]).toEqual(['label/digits-differ', []]);
    const { seen, todo } = textsOf(found as NonNullable<typeof found>);
    const line = sedge.lines?.label;
    expect(seen).toContain(`the factory has 2 digits, where the file takes 1 (${sedge.source}:${line}).`);
    expect(todo).toContain('stickwright family widen "K12-second 75/5B"');
  });

  it('is one for package names too', () => {
    const question = { label: readLabel('K2-second 75/5B', families), families, familiesNamed: false, wipes: false };
    const named = readPackageName('reed.171717_5B_second_K2.zip', families);
    const codes = checkFit({ ...question, package: named }).map(({ code }) => code);
    expect(codes).toEqual(['label/read', 'fit/package-digits-differ']);
  });

  it('is not one that differs by more, or that is read', () => {
    expect(widenForLabel('K2-second 75/5B', families)).toEqual([]);
    expect(widenForLabel('K12-fifth 75/5B', families)).toEqual([]);
    expect(widenForPackage('reed.1717_5B_second_KK.zip', families)).toEqual([]);
  });
});

describe('widening', () => {
  it('grows lengths of digits only, as far as the text shows', () => {
    const [place] = widenForLabel('K12-second 75/5B', families);
    expect(place?.pattern).toBe(sedge.label.pattern.replace('HOME|K\\d', 'HOME|K\\d{1,2}'));
    expect(place?.alsoRead).toContain('K20-SECOND 75/5B'.replace('SECOND', 'second'));
    expect(widenPattern('7/12', { pattern: '^(?<a>\\d{2})/(?<b>[0-9]{2})$', absent: {} })?.pattern).toBe(
      '^(?<a>\\d{1,2})/(?<b>[0-9]{2})$',
    );
  });

  it.each<[string, string, string, readonly [string | undefined, number, string]]>([
    ['(?<a>\\d)', '12', '(?<a>\\d{1,2})', ['a', 2, '1']],
    ['(?<a>\\d{2,3})', '1234', '(?<a>\\d{2,4})', ['a', 4, '2 to 3']],
    ['(?<a>\\d{2,3})', '1', '(?<a>\\d{1,3})', ['a', 1, '2 to 3']],
    ['(?<a>[0-9]{10,12})', '1234567890123', '(?<a>\\d{10,13})', ['a', 13, '10 to 12']],
    ['(?<a>\\d{2,})', '1', '(?<a>\\d{1,})', ['a', 1, '2 or more']],
    ['(?<a>\\d?)X', '12X', '(?<a>\\d{0,2})X', ['a', 2, '0 to 1']],
    ['(?P<a>K\\d)-(?:\\d)', 'K1-22', '(?P<a>K\\d)-(?:\\d{1,2})', [undefined, 2, '1']],
    ['(?<a>K(?:x|\\d))', 'K12', '(?<a>K(?:x|\\d{1,2}))', ['a', 2, '1']],
    ['(?<a>K)(?:\\d)', 'K12', '(?<a>K)(?:\\d{1,2})', [undefined, 2, '1']],
    ['(?<a>[(x])-\\d', 'x-12', '(?<a>[(x])-\\d{1,2}', [undefined, 2, '1']],
    ['[)\\]](?<a>\\d)', ']12', '[)\\]](?<a>\\d{1,2})', ['a', 2, '1']],
  ])('%s takes in %s, and says what is new', (pattern, text, wider, [part, has, takes]) => {
    expect(widenPattern(text, { pattern, absent: {} })).toEqual({ pattern: wider, changes: [{ part, has, takes }] });
  });

  it('touches only the run that is too short, and nothing where a text differs by more', () => {
    const many = { pattern: '(?<a>\\d{2})-(?<b>\\d+)-(?<c>\\d*)-(?:(?<d>\\d)x)?', absent: {} };
    expect(widenPattern('123-45-678-', many)).toEqual({
      pattern: '(?<a>\\d{2,3})-(?<b>\\d+)-(?<c>\\d*)-(?:(?<d>\\d)x)?',
      changes: [{ part: 'a', has: 3, takes: '2' }],
    });
    expect(widenPattern('123-45-678-y', many)).toBeUndefined();
    expect(widenPattern('A', { pattern: 'B', absent: {} })).toBeUndefined();
    // What the wider pattern would not read by itself is left alone.
    expect(widenPattern('12', { pattern: '(?<digitrun0>x)|(?<a>\\d)', absent: {} })).toBeUndefined();
  });

  it('says the file alone where nobody knows the line, and a number where it is no part', () => {
    const { lines: _, ...unlined } = sedge;
    const nameless = { ...unlined, label: { ...sedge.label, pattern: '^(?<a>K)-\\d$' } };
    const [place, ...others] = widenForLabel('K-12', [nameless]);
    expect([place?.path, place?.line, others]).toEqual([['label', 'pattern'], undefined, []]);
    if (place === undefined) throw new Error('it widens');
    expect([changesInWords(place), placeInWords(place)]).toEqual([
      'a number has 2 digits, where the file takes 1',
      sedge.source,
    ]);
    const [named] = widenForPackage('reed.171717_5B_second_K2.zip', [unlined]);
    expect([named?.path, named?.line]).toEqual([['packages', 0, 'pattern'], undefined]);
  });

  it('shows other texts that would be read from then on, and none that was read before', () => {
    const [place] = widenForLabel('K12-second 75/5B', families);
    expect(place?.alsoRead).not.toContain('K12-second 75/5B');
    expect(widenForLabel('K20-second 75/5B', families)[0]?.alsoRead).not.toContain('K20-second 75/5B');
    expect(place?.alsoRead.length).toBeGreaterThan(0);
    expect(new Set(place?.alsoRead).size).toBe(place?.alsoRead.length);
    const wider = { ...sedge.label, pattern: place?.pattern ?? '' };
    for (const text of place?.alsoRead ?? []) {
      expect(readWithGrammar(text, sedge.label).parts, text).toBeUndefined();
      expect(readWithGrammar(text, wider).parts, text).toBeDefined();
    }
    expect(readAnew(['K12-1'], { pattern: 'K\\d-\\d', absent: {} }, { pattern: 'K\\d{1,3}-\\d', absent: {} })).toEqual([
      'K120-1',
    ]);
  });

  it.each([
    ['\\[(?<a>[\\d-]+)\\]', '[1]'],
    ['(?<a>\\\\d)', '1'],
  ])('leaves alone what only looks like a run of digits: %s', (pattern, text) => {
    expect(widenPattern(text, { pattern, absent: {} })).toBeUndefined();
  });

  test('what was read is read as before, so no two values of a part become equal', { tags: ['any-maker'] }, () => {
    const digits = (most: number) => fc.stringMatching(new RegExp(`^[0-9]{1,${most}}$`));
    const label = fc.record({ factory: digits(3), size: digits(4), series: digits(3) });
    fc.assert(
      fc.property(label, label, (shown, old) => {
        const write = ({ factory, size, series }: typeof shown) => `K${factory}-second ${size}/${series}B`;
        const widening = widenPattern(write(shown), sedge.label);
        if (widening === undefined) return;
        const wider = { ...sedge.label, pattern: widening.pattern };
        const before = readWithGrammar(write(old), sedge.label);
        const after = readWithGrammar(write(old), wider);
        if (before.parts !== undefined) expect(after.parts).toEqual(before.parts);
        if (after.parts !== undefined) {
          expect(after.parts).toMatchObject({ factory: `K${old.factory}`, size: old.size, series: `${old.series}B` });
        }
      }),
      { seed: 16, numRuns: 300 },
    );
  });
});
