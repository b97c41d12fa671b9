import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { compareFit } from '../../../src/core/label/compare-fit.ts';
import { findNearMisses, findPackages, indexPackages } from '../../../src/core/label/find-packages.ts';
import { readLabel, readPackageName } from '../../../src/core/label/read-label.ts';
import { familyNamed, sampleFamilies } from './families.ts';

const sedge = familyNamed(await sampleFamilies(), 'sedge');

// Names that say both parts, one of them, either in the other order of comparing, or none; and a second family that
// reads some of them too.
const pattern = (text: string, agree: readonly string[]) => ({
  ...{ pattern: `^${text}\\.zip$`, absent: {}, agree: [...agree], examples: [] },
});
const label = { ...sedge.label, pattern: '^(?<a>[XY])(?:(?<b>[12]))?$', absent: {} };
const packages = [
  pattern('p(?<a>[xy])(?:(?<b>[12]))?', ['a', 'b']),
  pattern('q(?<a>[xy])(?<b>[12])', ['b', 'a']),
  pattern('r(?<a>[xy])', ['a']),
  pattern('s', []),
];
const families = [
  { ...sedge, family: 'one', label, packages },
  {
    ...sedge,
    family: 'other',
    label: { ...label, pattern: '^(?<a>Y)(?<b>2)$' },
    packages: [pattern('r(?<a>y)', ['a']), pattern('o(?<a>[xy])', ['a'])],
  },
];
const names = ['px', 'px1', 'px2', 'py1', 'qx1', 'qy2', 'rx', 'ry', 's', 'ox', 'strange'].map((name) => `${name}.zip`);
const anyShelf = fc.array(fc.constantFrom(...names), { maxLength: 8 });
const anyLabel = fc.constantFrom('X', 'X1', 'x2', 'Y', 'Y1', 'Y2', 'Z');

describe('among packages, those for a label', () => {
  it('are those that fit it, each compared by itself; and the others of its family miss it by so much', () => {
    let [found, missed] = [0, 0];
    fc.assert(
      fc.property(anyLabel, anyShelf, (text, shelf) => {
        const reading = readLabel(text, families);
        const read = shelf.map((name) => readPackageName(name, families));
        const [panel, ...others] = reading.readings;
        const fits = read.map((one) => {
          const [made, ...more] = one.readings;
          const isAsked = panel !== undefined && others.length === 0 && made !== undefined && more.length === 0;
          if (!isAsked || made.family.family !== panel.family.family) return undefined;
          return { package: one, fit: compareFit(panel.parts, made.parts, made.agree) };
        });
        const index = indexPackages(read);
        const fitting = fits.flatMap((one) => (one?.fit.answer === 'fits' ? [one.package] : []));
        expect(new Set(findPackages(reading, index))).toEqual(new Set(fitting));
        expect(findPackages(reading, index)).toHaveLength(fitting.length);
        const open = ({ fit }: NonNullable<(typeof fits)[number]>) =>
          fit.parts.filter(({ relation }) => relation !== 'equal').length;
        const missing = fits.filter((one) => one !== undefined && one.fit.answer !== 'fits');
        const byCount = [0, 1, 2].flatMap((count) => missing.filter((one) => one !== undefined && open(one) === count));
        expect(findNearMisses(reading, index)).toEqual(byCount);
        found += fitting.length;
        missed += missing.length;
      }),
      { seed: 14, numRuns: 300 },
    );
    expect(Math.min(found, missed)).toBeGreaterThan(100);
  });
});
