import fc from 'fast-check';
import { expect, it } from 'vitest';
import { compareBuilds } from '../../../src/core/build/compare-builds.ts';
import { readPackageName } from '../../../src/core/label/read-label.ts';
import { buildOf, findNewest } from '../../../src/core/shelf/index-shelf.ts';
import { familyNamed, sampleFamilies } from '../label/families.ts';

const sedge = familyNamed(await sampleFamilies(), 'sedge');

/** Dates of which six-digit ones stay ambiguous: builds that are only partly ordered. */
const build = fc.oneof(
  fc.stringMatching(/^2024010[1-9]$/),
  fc.stringMatching(/^2401(0[1-9]|1[0-2])$/),
  fc.constant('99999999'),
);
const family = {
  ...sedge,
  build: { scheme: 'date' } as const,
  packages: [{ pattern: '^p(?<build>\\d+)\\.zip$', absent: {}, agree: ['size'], examples: [] }],
};

it('answers with one package only if it is newer than every other; else with all that none is newer than', () => {
  let unique = 0;
  let open = 0;
  fc.assert(
    fc.property(fc.array(build, { minLength: 1, maxLength: 7 }), (builds) => {
      const packages = builds.map((text) => ({ build: buildOf(readPackageName(`p${text}.zip`, [family])) }));
      const newer = (a: (typeof packages)[number], b: (typeof packages)[number]): boolean =>
        a.build !== undefined && b.build !== undefined && compareBuilds(a.build, b.build) === 'newer';
      const best = packages.filter((one) => packages.every((other) => other === one || newer(one, other)));
      const maximal = packages.filter((one) => !packages.some((other) => newer(other, one)));
      const found = findNewest(packages);
      if (best.length === 1) unique += 1;
      else open += 1;
      expect(found).toEqual(best.length === 1 ? best : maximal);
    }),
    { numRuns: 2_000 },
  );
  expect(Math.min(unique, open)).toBeGreaterThan(100);
});
