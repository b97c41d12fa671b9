import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { compareBuilds } from '../../src/core/build/compare-builds.ts';
import { type BuildRules, readBuild } from '../../src/core/build/read-build.ts';
import type { Build } from '../../src/core/model/build.ts';

/** Few values in each place, so that equal, near and contradictory builds meet often. */
const number = fc.constantFrom('0', '1', '01', '2', '9', '10');
const version = fc
  .tuple(
    fc.constantFrom('', 'V', 'v'),
    fc.array(number, { minLength: 1, maxLength: 3 }),
    fc.array(fc.constantFrom('rc', 'RC', 'beta', '1', '2', '11', 'x-1'), { maxLength: 2 }),
    fc.constantFrom('', '+5', '+6'),
  )
  .map(([v, numbers, pre, meta]) => `${v}${numbers.join('.')}${pre.length > 0 ? `-${pre.join('.')}` : ''}${meta}`);
const day = fc
  .tuple(
    fc.constantFrom('2010', '2011', '2012'),
    fc.constantFrom('01', '02', '10', '11', '12'),
    fc.constantFrom('01', '10', '11', '12', '28'),
  )
  .map((parts) => parts.join(''));
const date = fc.oneof(
  day,
  day.map((text) => text.slice(2)),
  fc.tuple(day, fc.constantFrom('0000', '1159', '2359')).map((parts) => parts.join('')),
);

const texts: Readonly<Record<BuildRules['scheme'], fc.Arbitrary<string>>> = {
  date,
  version,
  counter: fc.tuple(fc.constantFrom('', 'R', 'r', 'B'), number).map((parts) => parts.join('')),
  letters: fc
    .tuple(fc.stringMatching(/^[A-Ca-c]{1,2}$/), fc.constantFrom('', '0', '1', '10'))
    .map((parts) => parts.join('')),
  'version-date': fc.tuple(version, date).map((parts) => parts.join('_')),
};

const builds = (scheme: BuildRules['scheme']): fc.Arbitrary<Build> =>
  texts[scheme].map((text) => readBuild(text, { scheme }).build).filter((build) => build !== undefined);

const opposite = { newer: 'older', older: 'newer', same: 'same', 'cannot-order': 'cannot-order' };

describe.each(Object.keys(texts) as BuildRules['scheme'][])('%s builds', (scheme) => {
  const one = builds(scheme);

  it('are a strict partial order: nothing is newer than itself, never both ways, and newer than newer is newer', () => {
    fc.assert(
      fc.property(one, one, one, (a, b, c) => {
        expect(compareBuilds(a, a)).toBe('same');
        expect(compareBuilds(b, a)).toBe(opposite[compareBuilds(a, b)]);
        if (compareBuilds(a, b) === 'newer' && compareBuilds(b, c) === 'newer') {
          expect(compareBuilds(a, c)).toBe('newer');
        }
      }),
      { numRuns: 3_000 },
    );
  });

  it('that are the same can stand for each other in any comparison', () => {
    fc.assert(
      fc.property(one, one, one, (a, b, c) => {
        if (compareBuilds(a, b) === 'same') expect(compareBuilds(a, c)).toBe(compareBuilds(b, c));
      }),
      { numRuns: 3_000 },
    );
  });
});

it('is "cannot-order" for any two builds of different schemes', () => {
  const any = fc.constantFrom(...(Object.keys(texts) as BuildRules['scheme'][])).chain(builds);
  fc.assert(
    fc.property(any, any, (a, b) => {
      if (a.scheme !== b.scheme) expect(compareBuilds(a, b)).toBe('cannot-order');
    }),
    { numRuns: 2_000 },
  );
});
