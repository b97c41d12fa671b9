import { describe, expect, it } from 'vitest';
import { type FleetExamples, proposeFamily, writeFamilyYaml } from '../../../src/core/label/propose-family.ts';
import { alignParts, proposePattern } from '../../../src/core/label/propose-pattern.ts';
import type { BuildScheme } from '../../../src/core/model/build.ts';

// What is likely to come: more digits in a number, more numbers in a version; common practice, no source.
describe('the pattern of builds that were seen takes those of the next releases', () => {
  const wide = '\\d+(?:\\.\\d+)*';

  it.each<[BuildScheme, readonly string[], string]>([
    ['counter', ['1047'], '\\d+'],
    ['counter', ['R1047', 'R98'], 'R\\d+'],
    ['counter', ['R2-1047', 'R2-98'], 'R2-\\d+'],
    ['counter', ['R10', 'S10'], '(?:R|S)\\d+'],
    ['version', ['1.2', '1.10.3'], wide],
    ['version', ['7'], wide],
    ['version', ['v12.2'], `V${wide}`],
    ['version', ['v1.2', 'V1.3'], `V${wide}`],
    ['version', ['v1.2', '1.3'], `V?${wide}`],
    // What is no plain version keeps the shapes that were seen.
    ['version', ['1.2-rc1'], '\\d+\\.\\d+-[A-Z]{2}\\d+'],
    ['version', ['1.2', '1.2b'], '\\d+\\.\\d+|\\d+\\.\\d+[A-Z]'],
    ['version', ['b1.2'], '[A-Z]\\d+\\.\\d+'],
    ['version-date', ['v3.10.2_20240305', 'v3.9.0_20231120'], `V${wide}_\\d{8}`],
    ['version-date', ['1.2_20240305', '1.3-240305'], `${wide}(?:-|_)(?:\\d{6}|\\d{8})`],
    ['version-date', ['rc1_20240305', '1.2_20240305'], '[A-Z]{2}\\d+_\\d{8}|\\d+\\.\\d+_\\d{8}'],
    ['date', ['20240305'], '\\d{8}'],
    ['letters', ['C', 'AA'], '[A-Z]{1,2}'],
  ])('%s %j', (scheme, builds, expected) => {
    const examples = builds.map((build) => ({ text: `q_${build}.zip`, parts: { build } }));
    expect(proposePattern(examples, { scheme }).pattern).toBe(`^q_(?<build>${expected})\\.zip$`);
  });

  it('but only of a part that is the build, where its scheme is known and no more than was seen is not wished', () => {
    const examples = [{ text: 'q_v1.2.zip', parts: { build: 'v1.2' } }];
    const shape = '[A-Z]\\d+\\.\\d+';
    expect(proposePattern(examples).pattern).toBe(`^q_(?<build>${shape})\\.zip$`);
    expect(proposePattern(examples, { scheme: 'version', exact: true }).pattern).toBe(
      '^q_(?<build>[A-Z]\\d\\.\\d)\\.zip$',
    );
    const other = [{ text: 'q_v1.2.zip', parts: { serial: 'v1.2' } }];
    expect(proposePattern(other, { scheme: 'version' }).pattern).toBe(`^q_(?<serial>${shape})\\.zip$`);
  });
});

describe('the pattern of a part', () => {
  const patternOf = (...examples: Parameters<typeof proposePattern>[0]) => proposePattern(examples).pattern;
  const named = (name: string, ...values: readonly string[]) =>
    patternOf(...values.map((value) => ({ text: `Q${value}X`, parts: { [name]: value } })));

  it.each([
    ['size', ['75', '110'], '\\d{2,3}'],
    ['Diagonal', ['75'], '\\d{2,3}'],
    ['sizes', ['75'], '\\d+'],
    ['oversize', ['75'], '\\d+'],
    ['serial', ['75'], '\\d+'],
    ['size', ['75', '7'], '\\d+'],
    ['size', ['75', '1100'], '\\d+'],
    ['size', ['75A'], '\\d+[A-Z]'],
    ['size', ['A75'], '[A-Z]\\d+'],
    // Six digits may be a date, and a date keeps its length.
    ['serial', ['12345'], '\\d+'],
    ['serial', ['123456'], '\\d{6}'],
    ['serial', ['12345', '1234567'], '\\d{5,7}'],
    ['serial', ['A', 'BC'], '[A-Z]{1,2}'],
    ['serial', ['1-A', '22-BB'], '\\d+-[A-Z]{1,2}'],
  ])('%s, seen as %j, is %s', (name, values, expected) => {
    expect(named(name, ...values)).toBe(`^Q(?<${name}>${expected})X$`);
  });

  it('keeps the lengths that were seen where another number touches it', () => {
    expect(patternOf({ text: 'Q12', parts: { a: '1', b: '2' } })).toBe('^Q(?<a>\\d)(?<b>\\d)$');
    expect(patternOf({ text: 'Q12', parts: { a: '1' } })).toBe('^Q(?<a>\\d)2$');
    expect(patternOf({ text: 'Q1-2', parts: { a: '1', b: '2' } })).toBe('^Q(?<a>\\d+)-(?<b>\\d+)$');
    expect(patternOf({ text: 'Q1A', parts: { a: '1', b: 'A' } })).toBe('^Q(?<a>\\d+)(?<b>[A-Z])$');
    // One example in which they touch is enough.
    const [apart, together] = [
      { text: 'QA1X', parts: { a: 'A', b: '1' } },
      { text: 'Q21X', parts: { a: '2', b: '1' } },
    ];
    expect(patternOf(apart, together)).toBe('^Q(?<a>[A-Z]|\\d)(?<b>\\d)X$');
  });

  it('stands where no example has it behind another; where that leaves two, the fuller example decides', () => {
    const two = { text: '1-A', parts: { a: '1', b: 'A' } };
    expect(proposePattern([{ text: 'A', parts: { b: 'A' } }, two])).toMatchObject({
      parts: ['a', 'b'],
      optional: ['a'],
    });
    expect(proposePattern([{ text: 'X', parts: { x: 'X' } }, two])).toMatchObject({ parts: ['a', 'b', 'x'] });
  });

  it.each([
    ['75:q', { size: '76', series: 'Q' }, 'are not all in it: size "76"'],
    ['75:q', { size: '76', series: 'R' }, 'are not all in it: size "76", series "R"'],
    ['111', { a: '11', b: '11' }, 'are not all in it, or one lies over another'],
    ['AAB', { b: 'AB', a: 'AA' }, 'are not all in it, or one lies over another'],
  ])('in %j with %j cannot be found, and it says why', (text, parts, because) => {
    expect(alignParts({ text, parts })).toBeUndefined();
    expect(proposePattern([{ text, parts }])).toEqual({
      pattern: undefined,
      because: `the parts of "${text}" ${because}`,
    });
  });
});

describe('a proposed family', () => {
  const given: FleetExamples = {
    ...{ family: 'quartz', title: 'Quartz', absent: { series: 'none' } },
    labels: [
      { text: '1/12', parts: { series: '1', size: '12' } },
      { text: '/12', parts: { size: '12' } },
    ],
    packages: [
      { text: 'q.1.2.3.zip', parts: { series: '1', build: '2.3' } },
      { text: 'q.2.4.zip', parts: { build: '2.4' } },
    ],
  };
  const propose = (change: Partial<FleetExamples> = {}) => {
    const result = proposeFamily({ ...given, ...change });
    return result.proposal === undefined ? result.because : result.proposal;
  };

  it('takes no more than was seen where a wider pattern would read an example as another', () => {
    // A build of any number of numbers would leave the 2 of 2.4 to the series.
    expect(propose()).toMatchObject({
      package: { pattern: '^(?:q\\.(?<series>\\d))?(?:\\.|q\\.)(?<build>\\d\\.\\d)\\.zip$' },
      label: { pattern: '^(?:(?<series>\\d))?/(?<size>\\d{2})$' },
      readings: [
        { parts: { series: '1', size: '12' } },
        { parts: { series: 'none', size: '12' } },
        { parts: { series: '1', build: '2.3' } },
        { parts: { series: 'none', build: '2.4' } },
      ],
    });
  });

  it('does so also where all but one part of an example come out right', () => {
    const packages = [
      { text: 'qa.1.2.3.zip', parts: { kind: 'a', series: '1', build: '2.3' } },
      { text: 'qa.2.4.zip', parts: { kind: 'a', build: '2.4' } },
    ];
    expect(propose({ packages })).toMatchObject({
      package: { pattern: expect.stringContaining('(?<build>\\d\\.\\d)') },
    });
  });

  it('of files that are always called the same says that the name proves nothing', () => {
    const update = { text: 'up.date.zip', parts: {} };
    const same = { nameSaysNothing: true, packages: [update, update] } as const;
    const proposal = propose(same);
    expect(proposal).toMatchObject({
      ...{ package: { pattern: '^up\\.date\\.zip$', parts: [], optional: [] }, agree: [], scheme: 'version' },
    });
    const yaml = typeof proposal === 'string' ? '' : writeFamilyYaml(proposal);
    expect(yaml).toContain('the name says nothing of the panel, and no stick of it is ever READY');
    expect(yaml).not.toContain('must equal the label');
    expect(propose({ ...same, saidBuild: '20240117' })).toMatchObject({ scheme: 'date' });
    expect(propose({ ...same, packages: [update, { text: 'other.zip', parts: {} }] })).toBe(
      'packages: "other.zip" is called otherwise, and no part says why',
    );
    const builds = ['1.7', '1.12.3'].map((build) => ({ text: `up_${build}.zip`, parts: { build } }));
    expect(propose({ ...same, packages: builds })).toMatchObject({
      ...{ package: { pattern: '^up_(?<build>\\d+(?:\\.\\d+)*)\\.zip$' }, scheme: 'version', agree: [] },
    });
    expect(propose({ ...same, packages: [update, ...builds] })).toBe('packages: "up.date.zip" has no parts');
  });

  it('asks nothing about a build that some names leave out, and takes its scheme from the one that was said', () => {
    const packages = [
      { text: 'q_1_20240117.zip', parts: { series: '1', build: '20240117' } },
      { text: 'q_1.zip', parts: { series: '1' } },
    ];
    const proposal = propose({ packages, saidBuild: '20240118' });
    expect(proposal).toMatchObject({ scheme: 'date', unexplained: [], agree: ['series'] });
    const yaml = typeof proposal === 'string' ? '' : writeFamilyYaml(proposal);
    expect(yaml).not.toMatch(/absent: .*build/);
    expect(yaml).toContain('The parts under agree must equal the label');
    expect(propose({ packages })).toBe('the builds are missing: "q_1.zip" has none');
  });

  it('names the first build that follows no scheme with those before it', () => {
    const builds = ['20240117', 'R7B', '20240118'].map((build) => ({
      text: `q_1_${build}.zip`,
      parts: { series: '1', build },
    }));
    expect(propose({ packages: builds })).toContain('the build "R7B" does not follow one scheme with the others');
  });
});
