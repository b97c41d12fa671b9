import fc from 'fast-check';
import { expect, it } from 'vitest';
import { compareFit } from '../../src/core/label/compare-fit.ts';
import { findNearMisses, findPackages, indexPackages } from '../../src/core/label/find-packages.ts';
import { readLabel, readPackageName } from '../../src/core/label/read-label.ts';
import { sampleFamilies } from '../core/label/families.ts';

const families = await sampleFamilies();

/** Few values, so that labels and packages meet. */
const label = fc.oneof(
  fc.stringMatching(/^(home|K[12])-(first|second) (65|75)\/[12]B$/),
  fc.stringMatching(/^V[XY]\+0[67]5\+(EU|UK)( REV [AB])?$/),
  fc.stringMatching(/^(65|650) in 2[23][EP](\.M[34])?$/),
  fc.constant('nonsense'),
);
const fileName = fc.oneof(
  fc.stringMatching(/^reed\.746_[12]B_(first|second)_(home|K[12])\.zip$/),
  fc.stringMatching(/^lantern-v[xy]-(eu|uk)(-rev[ab])?-v3\.0\.0_20240305\.zip$/),
  fc.stringMatching(/^basalt_(65|650)_23[ep](_m[34])?_r982\.zip$/),
  fc.stringMatching(/^basalt_all_22[ep](_m[34])?_r982\.zip$/),
  fc.constant('firmware.zip'),
);

it('finds by index just what comparing every pair finds, and the rest of the family as near misses', () => {
  let fitting = 0;
  fc.assert(
    fc.property(label, fc.array(fileName, { maxLength: 12 }), (text, fileNames) => {
      const reading = readLabel(text, families);
      const packages = fileNames.map((name) => readPackageName(name, families));
      const index = indexPackages(packages);
      const [panel] = reading.readings;
      const ofFamily = packages.filter(({ readings: [made] }) => panel !== undefined && made?.family === panel.family);
      const expected = ofFamily.filter(
        ({ readings: [made] }) => made && panel && compareFit(panel.parts, made.parts, made.agree).answer === 'fits',
      );
      fitting += expected.length;
      const found = findPackages(reading, index);
      expect(new Set(found)).toEqual(new Set(expected));
      expect(found).toHaveLength(expected.length);
      expect(findNearMisses(reading, index)).toHaveLength(ofFamily.length - expected.length);
    }),
    { numRuns: 1_000 },
  );
  expect(fitting).toBeGreaterThan(0);
});
