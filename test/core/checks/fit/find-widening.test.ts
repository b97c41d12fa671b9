import fc from 'fast-check';
import { describe, expect, it, test } from 'vitest';
import { checkFit } from '../../../../src/core/checks/fit/check-fit.ts';
import { checkLabel } from '../../../../src/core/checks/fit/check-label.ts';
import { widenForLabel, widenForPackage } from '../../../../src/core/checks/fit/find-widening.ts';
import { textsOf } from '../../../../src/core/findings/finding.ts';
import { readLabel, readPackageName } from '../../../../src/core/label/read-label.ts';
import { readWithGrammar } from '../../../../src/core/label/read-with-grammar.ts';
import { widenPattern } from '../../../../src/core/label/widen-pattern.ts';
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
