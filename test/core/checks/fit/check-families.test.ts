import { expect, it } from 'vitest';
import { checkFamilies } from '../../../../src/core/checks/fit/check-families.ts';
import type { Family } from '../../../../src/core/model/family.ts';
import { familyNamed, sampleFamilies } from '../../label/families.ts';

const samples = await sampleFamilies();
const sedge = familyNamed(samples, 'sedge');
const basalt = familyNamed(samples, 'basalt');

const told = (families: readonly Family[]) => checkFamilies(families).map(({ code, subject }) => `${code} ${subject}`);

it('has nothing to say about the sample families', () => {
  expect(told(samples)).toEqual([]);
});

it('finds labels that two read and packages that two claim', () => {
  const copy: Family = {
    ...sedge,
    family: 'copy',
    label: { ...sedge.label, examples: [{ text: 'home-first 65/1D' }] },
    packages: [],
  };
  expect(told([sedge, copy])).toEqual([
    'family/two-read-label K2-second 75/5B',
    'family/two-read-label home-first 110/5B',
    'family/two-read-label home-third 65/8S',
    'family/two-read-label home-first 65/1D',
  ]);
  const greedy: Family = {
    ...basalt,
    packages: [
      { ...sedge.packages[0], pattern: '.*\\.zip', agree: ['size'], absent: {}, examples: [{ text: 'x.zip' }] },
    ],
  };
  const [two] = checkFamilies([sedge, copy]);
  expect(two?.facts).toEqual({ families: ['sedge', 'copy'] });
  expect(told([sedge, greedy])).toEqual([
    'family/two-claim-package reed.746_5B_second_K2.zip',
    'family/two-claim-package reed.702_8S_third_home.zip',
  ]);
});

it('finds package patterns that an earlier one hides', () => {
  const [first, second] = basalt.packages;
  if (first === undefined || second === undefined) throw new Error('basalt has two');
  const wide = { ...second, pattern: '^basalt.*_r(?<build>\\d+)\\.zip$' };
  expect(told([{ ...basalt, packages: [wide, first] }])).toEqual([
    'family/pattern-hidden basalt_86_24p_m3_r1047.zip',
    'family/pattern-hidden basalt_105_23x_r982.zip',
  ]);
  const [hidden] = checkFamilies([{ ...basalt, packages: [wide, first] }]);
  expect(hidden?.facts).toEqual({ family: 'basalt', first: 1, second: 2 });
  const stranger = { ...first, examples: [{ text: 'nobody reads this.zip' }] };
  expect(told([{ ...basalt, packages: [first, stranger] }])).toEqual([]);
});

it('finds label patterns that a slip passes through', () => {
  const loose: Family = {
    ...sedge,
    label: {
      ...sedge.label,
      pattern: '^(?<factory>HOME)-FIRST.?(?<size>\\d{2})/5(?<series>[A-Z])$',
      examples: [{ text: 'home-first 75/5B' }],
    },
  };
  expect(told([loose])).toEqual(['family/loose-pattern home-first 75/5B']);
});

it.each([
  ['one more at the end', '^(?<a>Q\\d\\d)A?$', 'Q75', 'Q75A'],
  ['one more between', '^(?<a>Q)-?(?<b>\\d\\d)$', 'Q75', 'Q-75'],
  ['one other', '^(?<a>Q)[X7](?<b>\\d)$', 'Q75', 'QX5'],
  ['one less', '^(?<a>Q)-?(?<b>\\d\\d)$', 'Q-75', 'Q75'],
  ['none', '^(?<a>Q)(?<b>\\d\\d)$', 'Q75', undefined],
])('a slip is %s', (_, pattern, text, twin) => {
  const family: Family = { ...sedge, label: { ...sedge.label, pattern, examples: [{ text }] } };
  const facts = checkFamilies([family]).map((found) => found.facts);
  expect(facts).toEqual(twin === undefined ? [] : [{ family: 'sedge', twin }]);
});
