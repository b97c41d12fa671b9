import { describe, expect, it } from 'vitest';
import { compareBuilds } from '../../../src/core/build/compare-builds.ts';
import { type BuildRules, readBuild } from '../../../src/core/build/read-build.ts';

function order(a: string, b: string, rules: BuildRules, other: BuildRules = rules) {
  const first = readBuild(a, rules).build;
  const second = readBuild(b, other).build;
  if (first === undefined || second === undefined) return 'unreadable';
  return compareBuilds(first, second);
}

const because = (text: string, rules: BuildRules): string => {
  const reading = readBuild(text, rules);
  return reading.build === undefined ? reading.because : 'read';
};

describe('versions', () => {
  const version: BuildRules = { scheme: 'version' };

  it('order as the examples of SemVer 2.0.0 section 11 (semver.org)', () => {
    // 11.2: 1.0.0 < 2.0.0 < 2.1.0 < 2.1.1; 11.4.4: the list of pre-releases below.
    const ascending = [
      ['1.0.0', '2.0.0', '2.1.0', '2.1.1'],
      [
        '1.0.0-alpha',
        '1.0.0-alpha.1',
        '1.0.0-alpha.beta',
        '1.0.0-beta',
        '1.0.0-beta.2',
        '1.0.0-beta.11',
        '1.0.0-rc.1',
        '1.0.0',
      ],
    ];
    for (const chain of ascending) {
      for (const [at, older] of chain.entries()) {
        for (const newer of chain.slice(at + 1)) {
          expect([newer, older, order(newer, older, version)]).toEqual([newer, older, 'newer']);
          expect([older, newer, order(older, newer, version)]).toEqual([older, newer, 'older']);
        }
      }
    }
  });

  it.each([
    ['3.10', '3.9', 'newer', 'numbers are numbers'],
    ['V1.02.03', '1.2.3', 'same', 'V and leading zeros do not count'],
    ['1.2', '1.2.0', 'same', 'a number that is missing is 0'],
    ['1.2.1', '1.2', 'newer', 'a number that is missing is 0'],
    ['1.0.0+5', '1.0.0+6', 'cannot-order', 'metadata does not order (SemVer 2.0.0 section 10), yet they differ'],
    ['1.0.0-RC.1', '1.0.0-rc.1', 'cannot-order', 'only the case differs'],
    ['1.0.0-RC', '1.0.0-beta', 'cannot-order', 'the order hangs on the case'],
    ['99999999999999999999.1', '99999999999999999998.2', 'newer', 'past 2^64'],
    ['1.0.0-100', '1.0.0-11', 'newer', 'numbers count as numbers (11.4.1)'],
    ['1.0.0-11', '1.0.0-100', 'older', 'numbers count as numbers (11.4.1)'],
    ['1.0.0-rc10', '1.0.0-rc9', 'older', 'what has a letter in it counts as text (11.4.2)'],
    ['1.0.0-10rc', '1.0.0-9rc', 'older', 'what has a letter in it counts as text (11.4.2)'],
    ['1.0.0-22', '1.0.0-a', 'older', 'a number is below a text, however long (11.4.3)'],
    ['1.0.0-1', '1.0.0--a', 'older', 'a number is below a text, also below a hyphen (11.4.3)'],
    ['1.0.0-rc.007', '1.0.0-rc.7', 'same', 'leading zeros do not count there either'],
    ['1.0.0-rc.7', '1.0.0-rc.007', 'same', 'leading zeros do not count there either'],
    ['1.0.0+build.57', '1.0.0+build.57', 'same', 'metadata of several words'],
  ])('%s beside %s: %s (%s)', (a, b, expected) => {
    expect(order(a, b, version)).toBe(expected);
  });

  it.each(['', 'abc', '1..2', '1.2.', '-1', '1.2 3', '1.0.0-', '1.0.0-a..b', '1.0.0+'])('%j is no version', (text) => {
    expect(because(text, version)).toContain('no version');
  });
});

describe('dates', () => {
  const date: BuildRules = { scheme: 'date' };

  it.each([
    // ISO 8601-1:2019 5.2.2.1: calendar date in basic format YYYYMMDD; its usual example is 19850412.
    ['19850412', '19850413', 'older'],
    ['20240117', '20240117', 'same'],
    ['2024-01-17', '20240117', 'same'],
    ['20240117T1530', '202401171530', 'same'],
    ['202401171530', '202401171529', 'newer'],
    ['20240117', '202401171530', 'cannot-order'],
    ['20240118', '202401171530', 'newer'],
    ['202401171000', '202401170959', 'newer'],
  ])('%s beside %s: %s', (a, b, expected) => {
    expect(order(a, b, date)).toBe(expected);
  });

  it.each([
    ['20230229', 'no such day'],
    ['20240230', 'no such day'],
    ['21000229', 'no such day'],
    ['20241301', 'no such day'],
    ['20240001', 'no such day'],
    ['20240100', 'no such day'],
    ['202401172460', 'no such time'],
    ['202401172400', 'no such time'],
    ['2024011', '7 digits are no date'],
    ['17.01.2024', 'digits only'],
    ['2024-1-17', 'digits only'],
    ['999999', 'no such day'],
    ['20240431', 'no such day'],
    ['202402301200', 'no such day'],
    ['19691231', 'no such day'],
    ['21000101', 'no such day'],
    ['202401172360', 'no such time'],
    ['20240117-10-30', 'digits only'],
    ['2024-01-171530', 'digits only'],
    ['2420240117T1530', 'digits only'],
    ['20240117T15301', 'digits only'],
  ])('%s is refused: %s', (text, expected) => {
    expect(because(text, date)).toContain(expected);
  });

  it.each(['20240130', '20240731', '20241231', '19700101', '20991231', '202401172330', '202401172359', ' 20240117 '])(
    '%j is a day, or a minute of one',
    (text) => {
      expect(because(text, date)).toBe('read');
    },
  );

  it('takes leap days as the Gregorian calendar has them (ISO 8601-1:2019 4.2.1)', () => {
    expect(because('20240229', date)).toBe('read');
    expect(because('20000229', date)).toBe('read');
  });

  it('treats six digits as every date they may mean, until the family says which', () => {
    expect(readBuild('240117', date).build).toMatchObject({ readings: ['2024-01-17', '2017-01-24'] });
    expect(order('240117', '230620', date)).toBe('cannot-order');
    expect(order('240117', '240117', date)).toBe('same');
    const form: BuildRules = { scheme: 'date', 'six-digits': 'YYMMDD' };
    expect(order('240117', '230620', form)).toBe('newer');
    expect(order('240117', '230620', { ...form, 'six-digits': 'DDMMYY' })).toBe('older');
    expect(order('240117', '20240116', form)).toBe('newer');
  });
});

describe('counters and letters (common practice, no source)', () => {
  it.each([
    ['1047', '982', 'newer'],
    ['0982', '982', 'same'],
    ['R1047', 'r1046', 'newer'],
    ['R1047', 'B1046', 'cannot-order'],
  ])('%s beside %s: %s', (a, b, expected) => {
    expect(order(a, b, { scheme: 'counter' })).toBe(expected);
  });

  it.each([
    ['B', 'A', 'newer'],
    ['AA', 'Z', 'newer'],
    ['AB', 'AA', 'newer'],
    ['B2', 'B10', 'older'],
    ['b', 'B', 'same'],
  ])('%s beside %s: %s', (a, b, expected) => {
    expect(order(a, b, { scheme: 'letters' })).toBe(expected);
  });

  it('refuses other shapes', () => {
    expect(because('1.2', { scheme: 'counter' })).toContain('plain number');
    expect(because('B-2', { scheme: 'letters' })).toContain('run of letters');
    expect(because('1B', { scheme: 'letters' })).toContain('run of letters');
  });
});

describe('version and date together', () => {
  const mixed: BuildRules = { scheme: 'version-date' };

  it.each([
    ['V1.02.03_20240117', 'V1.02.02_20231120', 'newer', 'both up'],
    ['V1.02.03_20240118', 'V1.02.03_20240117', 'newer', 'rebuilt a day later'],
    ['V1.02.03_20240117', 'v1.2.3-20240117', 'same', 'written otherwise'],
    ['V1.02.04_20231120', 'V1.02.03_20240117', 'cannot-order', 'version up, date down'],
    ['V1.02.04_20240117', 'V1.02.03_202401171530', 'cannot-order', 'the dates cannot be ordered'],
    ['V1.02.04_20240117', 'V1.02.03_20240117', 'newer', 'two of one day'],
    ['V1.02.03+5_20240117', 'V1.02.03+6_20240117', 'cannot-order', 'the versions cannot be ordered'],
  ])('%s beside %s: %s (%s)', (a, b, expected) => {
    expect(order(a, b, mixed)).toBe(expected);
  });

  it('wants both parts sound', () => {
    expect(because('V1.02.03', mixed)).toContain('no version and date');
    expect(because('V1.02.03_20240231', mixed)).toContain('no such day');
    expect(because('Vx_20240117', mixed)).toContain('no version');
    for (const text of ['V1.02.03_4', 'V1.02.03_20240117b', 'a\nV1.02.03_20240117'])
      expect([text, because(text, mixed)]).toEqual([text, expect.stringContaining('no version and date')]);
  });

  it('takes a date in six digits as the family says', () => {
    expect(order('V1.02.03_240117', 'V1.02.03_230620', { ...mixed, 'six-digits': 'YYMMDD' })).toBe('newer');
    expect(order('V1.02.03_240117', 'V1.02.03_230620', { ...mixed, 'six-digits': 'DDMMYY' })).toBe('older');
  });
});

it('reads no text as a build that is longer than any', () => {
  expect(because('9'.repeat(80), { scheme: 'version' })).toBe('read');
  expect(because('9'.repeat(81), { scheme: 'version' })).toBe('it is longer than 80 characters');
});

it('never orders builds of two schemes', () => {
  const texts = {
    date: '20240117',
    version: '1.2',
    counter: 'R1',
    letters: 'B',
    'version-date': 'v1.2_20240117',
  } as const;
  const schemes = Object.keys(texts) as (keyof typeof texts)[];
  for (const one of schemes)
    for (const other of schemes)
      expect([one, other, order(texts[one], texts[other], { scheme: one }, { scheme: other })]).toEqual([
        one,
        other,
        one === other ? 'same' : 'cannot-order',
      ]);
  expect(order('20240117', '20240116', { scheme: 'date' }, { scheme: 'counter' })).toBe('cannot-order');
  expect(order('1047', '1046', { scheme: 'counter' }, { scheme: 'version' })).toBe('cannot-order');
});
