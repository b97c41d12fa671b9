import { describe, expect, it } from 'vitest';
import { checkFamilies, judgeFamilyFiles } from '../../../src/core/checks/fit/check-families.ts';
import { type FleetExamples, proposeFamily, writeFamilyYaml } from '../../../src/core/label/propose-family.ts';
import { alignParts, proposePattern } from '../../../src/core/label/propose-pattern.ts';
import { readLabel } from '../../../src/core/label/read-label.ts';
import type { Family } from '../../../src/core/model/family.ts';
import { parseFamily } from '../../../src/io/families/parse-family.ts';
import { sampleFamilies } from './families.ts';

const quartz: FleetExamples = {
  family: 'quartz',
  title: "The hall's quartz panels",
  labels: [
    { text: '75:QB by R2', parts: { size: '75', series: 'QB', factory: 'R2' } },
    { text: '110:QD', parts: { size: '110', series: 'QD' } },
  ],
  packages: [
    { text: 'quartz_qb_r2_20240117.zip', parts: { series: 'QB', factory: 'R2', build: '20240117' } },
    { text: 'quartz_qd_20231204.zip', parts: { series: 'QD', build: '20231204' } },
  ],
  absent: { factory: 'standard' },
};

const propose = (examples: FleetExamples) => {
  const result = proposeFamily(examples);
  if (result.proposal === undefined) throw new Error(result.because);
  return result.proposal;
};

describe('proposeFamily', () => {
  it('proposes patterns that read every example, with optional parts, numbers of any length and sizes of two or three digits', () => {
    const proposal = propose(quartz);
    expect(proposal.label.pattern).toBe('^(?<size>\\d{2,3}):(?<series>[A-Z]{2})(?: by (?<factory>[A-Z]\\d+))?$');
    expect(proposal.package.pattern).toBe(
      '^quartz_(?<series>[A-Z]{2})(?:_(?<factory>[A-Z]\\d+))?_(?<build>\\d{8})\\.zip$',
    );
    expect(proposal).toMatchObject({ agree: ['series', 'factory'], scheme: 'date', unexplained: [] });
    expect(proposal.readings.map(({ parts }) => parts)).toEqual([
      { size: '75', series: 'QB', factory: 'R2' },
      { size: '110', series: 'QD', factory: 'standard' },
      { series: 'QB', factory: 'R2', build: '20240117' },
      { series: 'QD', factory: 'standard', build: '20231204' },
    ]);
  });

  it('writes a file that loads, with comments', () => {
    const yaml = writeFamilyYaml(propose(quartz));
    const { families, findings } = judgeFamilyFiles([parseFamily('quartz.yaml', Buffer.from(yaml))]);
    const [family] = families;
    expect(findings).toEqual([]);
    expect(family).toMatchObject({ family: 'quartz', title: "The hall's quartz panels", build: { scheme: 'date' } });
    expect(yaml.match(/^ *#/gm)?.length).toBeGreaterThan(4);
    expect(readLabel('75:qb', family === undefined ? [] : [family]).readings).toHaveLength(1);
  });

  it('compares what both have, and takes the scheme of the builds that are stated', () => {
    const packages = [
      { text: 'quartz_qb_r2_ota_20240117.zip', parts: { series: 'QB', factory: 'R2', kind: 'ota', build: '20240117' } },
      { text: 'quartz_qd_ota_20231204.zip', parts: { series: 'QD', factory: '', kind: 'ota', build: '20231204' } },
    ];
    const proposal = propose({ ...quartz, packages });
    expect(proposal).toMatchObject({ agree: ['series', 'factory'], scheme: 'date', unexplained: [] });
    const yaml = writeFamilyYaml(proposal);
    expect(yaml).toContain("absent: { factory: 'standard' }");
    expect(yaml).toContain("- { text: 'quartz_qd_ota_20231204.zip', series: 'QD', kind: 'ota', build: '20231204' }");
    const { families, findings } = judgeFamilyFiles([parseFamily('quartz.yaml', Buffer.from(yaml))]);
    expect([families.length, findings]).toEqual([1, []]);
  });

  it('writes that nothing may be missing where nothing ever was', () => {
    const [label, pack] = [quartz.labels[0], quartz.packages[0]];
    if (label === undefined || pack === undefined) throw new Error('there are two of each');
    const yaml = writeFamilyYaml(propose({ ...quartz, labels: [label], packages: [pack], absent: {} }));
    expect(yaml.match(/absent: \{\}/g)).toHaveLength(2);
  });

  it('asks what absence means, and marks it in the file', () => {
    const proposal = propose({ ...quartz, absent: {} });
    expect(proposal.unexplained).toEqual(['factory']);
    expect(writeFamilyYaml(proposal)).toContain('# Check: what does it mean when factory is not there?');
  });

  it.each([
    ['a part that is not in the text', { labels: [{ text: '75:Q', parts: { size: '76' } }] }, 'not all in it'],
    ['nothing in common', { packages: [{ text: 'x_20240117.zip', parts: { build: '20240117' } }] }, 'share no part'],
    ['no build', { packages: [{ text: 'quartz_qb.zip', parts: { series: 'QB' } }] }, 'builds are missing'],
    ['a name that cannot be one', { labels: [{ text: '75:Q', parts: { 'si ze': '75' } }] }, 'cannot name a part'],
    [
      'builds of two schemes',
      { packages: [...quartz.packages, { text: 'quartz_qb_R7B.zip', parts: { series: 'QB', build: 'R7B' } }] },
      'does not follow one',
    ],
    ['an example without parts', { labels: [...quartz.labels, { text: '75:Q', parts: {} }] }, 'has no parts'],
    [
      'a reserved name in a package',
      { packages: [{ text: 'q.zip', parts: { text: 'q' } }] },
      'no part can be called text',
    ],
    [
      'a reserved name in one label of two',
      { labels: [...quartz.labels, { text: '75:Q', parts: { build: '75' } }] },
      'no part can be called build',
    ],
    ['a reserved name', { labels: [{ text: '75:Q', parts: { text: '75' } }] }, 'no part can be called text'],
    [
      'two orders',
      {
        labels: [
          { text: 'A1', parts: { x: 'A', y: '1' } },
          { text: '1A', parts: { x: 'A', y: '1' } },
        ],
      },
      'same order',
    ],
  ])('says why it cannot with %s', (_what, change, expected) => {
    const result = proposeFamily({ ...quartz, ...change });
    expect(result.proposal === undefined && result.because).toContain(expected);
  });
});

describe('a pattern', () => {
  const patternOf = (...examples: Parameters<typeof proposePattern>[0]) => proposePattern(examples).pattern;

  it('takes what stood before a part in either of its forms, and values of either shape', () => {
    const [first, second] = [
      { text: '75 by R2', parts: { size: '75', factory: 'R2' } },
      { text: '75, R3', parts: { size: '75', factory: 'R3' } },
    ];
    expect(patternOf(first, second)).toBe('^(?<size>\\d{2,3})(?: by |, )(?<factory>[A-Z]\\d+)$');
    expect(patternOf({ text: 'Q1-2', parts: { p: '1-2' } }, { text: 'Q1.2', parts: { p: '1.2' } })).toBe(
      '^Q(?<p>\\d+-\\d+|\\d+\\.\\d+)$',
    );
    expect(patternOf({ text: 'Q1-2', parts: { p: '1-2' } }, { text: 'Q12-3', parts: { p: '12-3' } })).toBe(
      '^Q(?<p>\\d+-\\d+)$',
    );
  });

  const placed = (text: string, parts: Readonly<Record<string, string>>) =>
    alignParts({ text, parts })?.placed.map(({ name, before, value }) => `${before}|${name}=${value}`);

  it.each([
    ['B 5B', { b: 'B', a: '5' }, ['B |a=5', '|b=B']],
    ['5 B5', { a: '5', b: 'B' }, ['5 |b=B', '|a=5']],
    ['5-B-5', { a: '5', b: 'B' }, ['|a=5', '-|b=B']],
    ['111', { a: '11', b: '1' }, ['|b=1', '|a=11']],
    ['111', { b: '1', a: '11' }, ['|b=1', '|a=11']],
    ['Q75', { size: '75', factory: '' }, ['Q|size=75']],
    ['Q75', { size: '76' }, undefined],
  ])('in %j has its parts as near to each other as they stand, then leftmost: %j', (text, parts, expected) => {
    expect(placed(text, parts)).toEqual(expected);
  });
});

it.each((await sampleFamilies()).map((family) => [family.family, family] as const))(
  'proposes from the examples of the sample family %s a file that reads its examples',
  (_name, family) => {
    const named = (
      { text, ...parts }: Family['label']['examples'][number],
      absent: Readonly<Record<string, string>>,
    ) => ({
      text,
      parts: Object.fromEntries(
        Object.entries(parts).filter(([part, value]) => absent[part] !== value || text.includes(`-${value}`)),
      ),
    });
    const [packages] = family.packages;
    if (packages === undefined) throw new Error('a family has packages');
    const proposal = propose({
      family: family.family,
      title: family.title,
      labels: family.label.examples.map((example) => named(example, family.label.absent)),
      packages: packages.examples.map((example) => named(example, packages.absent)),
      absent: family.label.absent,
    });
    const file = parseFamily('x.yaml', Buffer.from(writeFamilyYaml(proposal)));
    const { families, findings } = judgeFamilyFiles([file]);
    const [loaded] = families;
    expect(findings).toEqual([]);
    expect(loaded && checkFamilies([loaded])).toEqual([]);
    expect(proposal.scheme).toBe(family.build.scheme);
    for (const { text } of family.label.examples) {
      const ours = loaded === undefined ? undefined : readLabel(text, [loaded]).readings[0]?.parts;
      expect(ours).toEqual(readLabel(text, [family]).readings[0]?.parts);
    }
  },
);

describe('alignParts', () => {
  it('puts parts where they touch, not where the same letter happens to stand', () => {
    const { placed, tail } =
      alignParts({ text: 'basalt_86_24p_r1047.zip', parts: { size: '86', year: '24', tier: 'P', build: '1047' } }) ??
      {};
    expect(placed?.map(({ name, before }) => [name, before])).toEqual([
      ['size', 'basalt_'],
      ['year', '_'],
      ['tier', ''],
      ['build', '_r'],
    ]);
    expect(tail).toBe('.zip');
  });
});

it('escapes what stands between the parts', () => {
  const proposal = proposePattern([{ text: 'A+(B)*[1].$', parts: { n: '1' } }]);
  expect(proposal.pattern).toBe('^A\\+\\(B\\)\\*\\[(?<n>\\d+)\\]\\.\\$$');
});
