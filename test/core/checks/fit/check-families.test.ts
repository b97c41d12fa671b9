import { expect, it } from 'vitest';
import { checkFamilies } from '../../../../src/core/checks/fit/check-families.ts';
import type { Family } from '../../../../src/core/model/family.ts';
import { familyNamed, sampleFamilies } from '../../label/families.ts';

const samples = await sampleFamilies();
const slate = familyNamed(samples, 'slate');
const basalt = familyNamed(samples, 'basalt');

const told = (families: readonly Family[]) => checkFamilies(families).map(({ code, subject }) => `${code} ${subject}`);

it('has nothing to say about the sample families', () => {
  expect(told(samples)).toEqual([]);
});

it('finds labels that two read and packages that two claim', () => {
  const copy: Family = {
    ...slate,
    family: 'copy',
    label: { ...slate.label, examples: [{ text: 'TS65A1' }] },
    packages: [],
  };
  expect(told([slate, copy])).toEqual([
    'family/two-read-label TS75C4-2 K2',
    'family/two-read-label TS110C4',
    'family/two-read-label TS65B1-3',
    'family/two-read-label TS65A1',
  ]);
  const greedy: Family = {
    ...basalt,
    packages: [
      { ...slate.packages[0], pattern: '.*\\.zip', agree: ['size'], absent: {}, examples: [{ text: 'x.zip' }] },
    ],
  };
  expect(told([slate, greedy])).toEqual([
    'family/two-claim-package TSC4-2_K2_20240117.zip',
    'family/two-claim-package TSB1-3_20231204.zip',
  ]);
});

it('finds package patterns that an earlier one hides', () => {
  const [first, second] = basalt.packages;
  if (first === undefined || second === undefined) throw new Error('basalt has two');
  const wide = { ...second, pattern: '^bsl.*_r(?<build>\\d+)\\.zip$' };
  expect(told([{ ...basalt, packages: [wide, first] }])).toEqual([
    'family/pattern-hidden bsl86_24p_m3_r1047.zip',
    'family/pattern-hidden bsl105_23x_r982.zip',
  ]);
});

it('finds label patterns that a slip passes through', () => {
  const loose: Family = {
    ...slate,
    label: { ...slate.label, pattern: '^TS.?(?<size>\\d{2})C(?<series>\\d)$', examples: [{ text: 'TS75C4' }] },
  };
  expect(told([loose])).toEqual(['family/loose-pattern TS75C4']);
});
