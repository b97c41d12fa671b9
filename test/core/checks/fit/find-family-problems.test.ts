import { describe, expect, it } from 'vitest';
import { judgeFamilyFiles } from '../../../../src/core/checks/fit/check-families.ts';
import { findFamilyProblems } from '../../../../src/core/checks/fit/find-family-problems.ts';
import { bridgesFor } from '../../../../src/core/checks/fit/find-update-path.ts';
import type { Family } from '../../../../src/core/model/family.ts';
import { familyNamed, sampleFamilies } from '../../label/families.ts';

const families = await sampleFamilies();
const sedge = familyNamed(families, 'sedge');
const lantern = familyNamed(families, 'lantern');
const [first] = sedge.packages;
if (first === undefined) throw new Error('it has packages');
const packaged = (more: Partial<typeof first>): Family => ({ ...sedge, packages: [{ ...first, ...more }] });
const labelled = (more: Partial<Family['label']>): Family => ({ ...sedge, label: { ...sedge.label, ...more } });

describe('what is wrong with a family file, and where', { tags: ['any-maker'] }, () => {
  it.each<[string, Family, readonly (readonly [path: string, what: string])[]]>([
    ['nothing', sedge, []],
    [
      'a place for a part that the label has not',
      labelled({ where: { rim: 'x' } }),
      [['label.where.rim', 'the pattern has no part rim']],
    ],
    [
      'an absence of a part that nobody compares',
      labelled({ absent: { rim: 'x' } }),
      [['label.absent.rim', 'the pattern has no part rim']],
    ],
    [
      'the same in a package',
      packaged({ absent: { rim: 'x' } }),
      [['packages.0.absent.rim', 'the pattern has no part rim']],
    ],
    [
      'a part that must agree, and stands in neither',
      packaged({ agree: ['series', 'rim'] }),
      [['packages.0.agree.1', "rim must agree, but the label's pattern and this package's pattern cannot state it"]],
    ],
    [
      'a part that must agree, and stands on the label alone',
      packaged({ agree: ['size'] }),
      [['packages.0.agree.0', "size must agree, but this package's pattern cannot state it"]],
    ],
    [
      'a part that must agree, and stands in the name alone',
      {
        ...packaged({ agree: ['generation'] }),
        label: { ...sedge.label, pattern: '^(?<size>\\d{2})$', where: {}, examples: [] },
      },
      [['packages.0.agree.0', "generation must agree, but the label's pattern cannot state it"]],
    ],
    [
      'a pattern of which nothing else is said',
      packaged({ pattern: '(' }),
      [['packages.0.pattern', 'missing closing ): `(`']],
    ],
    [
      'a label’s pattern of which nothing else is said',
      labelled({ pattern: '(' }),
      [['label.pattern', 'missing closing ): `(`']],
    ],
    // What only the packages state, and all labels have alike, is told by its absence.
    [
      'a part that is the same for all labels',
      { ...labelled({ absent: { rim: 'x' } }), packages: [{ ...first, absent: { rim: 'x' }, agree: ['rim'] }] },
      [],
    ],
  ])('%s', (_, family, expected) => {
    const found = findFamilyProblems(family).map((one) => [one.path.join('.'), 'what' in one ? one.what : one.kind]);
    expect(found).toEqual(expected);
  });

  it('keeps a family in which something is wrong from being used', () => {
    const read = (family: Family, source: string) =>
      ({
        ...{
          source,
          content: { state: 'read', family: { ...family, source }, placeOf: () => ({ line: 1, column: 1 }) },
        },
      }) as Parameters<typeof judgeFamilyFiles>[0][number];
    const { families: sound, findings } = judgeFamilyFiles([read(packaged({ pattern: '(' }), 'a'), read(lantern, 'b')]);
    expect(sound.map(({ family }) => family)).toEqual(['lantern']);
    expect(findings.map(({ code, subject }) => [code, subject])).toEqual([['family/pattern-refused', 'a:1:1']]);
  });
});

it('a bridge may be due wherever it cannot be told that it is not', () => {
  const builds = (family: Family, target: Parameters<typeof bridgesFor>[2]) =>
    bridgesFor(family, { revision: 'C' }, target).map(({ build }) => build);
  expect(builds(lantern, undefined)).toEqual(['v3.0.0_20230110', 'v3.6.0_20230822']);
  const odd = { ...lantern, bridges: [{ 'running-before': 'x', first: 'x', for: {}, because: 'x' }] };
  const target = { text: '2', scheme: 'counter', prefix: '', count: '2' } as unknown as Parameters<
    typeof bridgesFor
  >[2];
  expect(builds(odd, target)).toEqual(['x']);
});
