import { describe, expect, it } from 'vitest';
import { readLabel, readPackageName } from '../../../src/core/label/read-label.ts';
import { isRead, readWithGrammar, unstatedParts } from '../../../src/core/label/read-with-grammar.ts';
import type { Family } from '../../../src/core/model/family.ts';
import { normaliseLabel, upperForComparing } from '../../../src/core/text/label-text.ts';
import { sampleFamilies } from './families.ts';

const families = await sampleFamilies();

const partsOf = (text: string) => readLabel(text, families).readings.map(({ family, parts }) => [family.family, parts]);

describe('normaliseLabel', () => {
  it.each([
    ['K2\u2011second 75/5B', 'K2-second 75/5B', 'non-breaking hyphen'],
    ['K2\u2013second\u00A075/5B', 'K2-second 75/5B', 'en dash, no-break space'],
    ['K2\u2212second  75/5B ', 'K2-second 75/5B', 'minus sign, doubled space'],
    ['Ｋ２－ｓｅｃｏｎｄ\u3000７５／５Ｂ', 'K2-second 75/5B', 'full-width letters'],
    ['\uFEFFK2-second\u200B 75/5B\r\n', 'K2-second 75/5B', 'byte-order mark, zero-width space, line end'],
    ['k2-second\t75/5b', 'k2-second 75/5b', 'the case is kept'],
  ])('%j becomes %j (%s)', (text, expected) => {
    expect(normaliseLabel(text)).toBe(expected);
  });

  it('never turns a letter into another one by upper-casing it', () => {
    // Unicode 16 SpecialCasing and UnicodeData: ı, ſ and ß have capitals that belong to other letters.
    expect(upperForComparing('aé')).toBe('AÉ');
    expect(upperForComparing('ıſß')).toBe('ıſß');
  });
});

describe('readLabel', () => {
  it('reads the parts of each family, and gives absence its meaning', () => {
    expect(partsOf('k2-second 75/5b')).toEqual([
      ['sedge', { size: '75', series: '5B', generation: 'SECOND', factory: 'K2' }],
    ]);
    expect(partsOf('home-first 110/5B')).toEqual([
      ['sedge', { size: '110', series: '5B', generation: 'FIRST', factory: 'HOME' }],
    ]);
    expect(partsOf('VX+075+EU Rev C')).toEqual([
      ['lantern', { size: '075', series: 'VX', region: 'EU', revision: 'C' }],
    ]);
    expect(partsOf('VX+098+AM')).toEqual([['lantern', { size: '098', series: 'VX', region: 'AM', revision: 'first' }]]);
    expect(partsOf('105 in 23x')).toEqual([['basalt', { size: '105', year: '23', tier: 'X', factory: 'main' }]]);
    expect(partsOf('65 in 22E.N12')).toEqual([['basalt', { size: '65', year: '22', tier: 'E', factory: 'N12' }]]);
  });

  it('names the parts in the order of the label', () => {
    expect(Object.keys(readLabel('home-first 110/5B', families).readings[0]?.parts ?? {})).toEqual([
      'factory',
      'generation',
      'size',
      'series',
    ]);
  });

  it('takes a part that only `absent` names as the same for all', () => {
    expect(readWithGrammar('a', { pattern: '(?<x>a)', absent: { region: 'EU' } }).parts).toEqual({
      x: 'A',
      region: 'EU',
    });
  });

  it('keeps the text as typed and reads only the whole of it', () => {
    expect(readLabel(' home–second 75/5B ', families)).toMatchObject({
      text: ' home–second 75/5B ',
      normalised: 'home-second 75/5B',
    });
    expect(partsOf('K2-second 75/5B X')).toEqual([]);
    expect(partsOf('XK2-second 75/5B')).toEqual([]);
    expect(partsOf('K2-5econd 75/5B')).toEqual([]);
    expect(partsOf(`K2-second${' '.repeat(10)}75/5B${' K2'.repeat(200)}`)).toEqual([]);
  });
});

describe('readPackageName', () => {
  it('reads parts and build, and leaves the build out of the parts', () => {
    const [reading, ...more] = readPackageName('lantern-vx-eu-revc-v3.10.2_20240305.zip', families).readings;
    expect(more).toEqual([]);
    expect(reading).toMatchObject({
      parts: { series: 'VX', region: 'EU', revision: 'C' },
      build: 'v3.10.2_20240305',
      agree: ['series', 'region', 'revision'],
    });
    expect(Object.keys(reading?.parts ?? {})).not.toContain('build');
  });

  it.each([
    'reed.746_5B_second_K2 (1).zip',
    'reed.746_5B_second_K2.zip.zip',
    'reed.746_5B_second K2.zip',
    'reed.746_5B_second_K\uFF12.zip',
    'firmware.zip',
  ])('%s is nobody’s name', (fileName) => {
    expect(readPackageName(fileName, families).readings).toEqual([]);
  });
});

it('a package name may leave its build out, where the family says so', () => {
  const [sedge] = families.filter(({ family }) => family === 'sedge');
  const pattern = '^p(?<series>\\d)(?:_(?<build>\\d+))?\\.zip$';
  const family = { ...sedge, packages: [{ pattern, absent: {}, agree: ['series'], examples: [] }] } as Family;
  const buildIn = (name: string) => readPackageName(name, [family]).readings.map(({ build }) => build);
  expect([buildIn('p5_1047.zip'), buildIn('p5.zip')]).toEqual([['1047'], [undefined]]);
});

it('a text of up to 255 characters is read, and one that nobody reads has nothing unstated', () => {
  const grammar = { pattern: 'A+(?<x>B)?', absent: { x: 'none' } };
  expect([isRead('A'.repeat(255), grammar), isRead('A'.repeat(256), grammar)]).toEqual([true, false]);
  expect(isRead('A', { pattern: '(', absent: {} })).toBe(false);
  expect([unstatedParts('A', grammar), unstatedParts('AB', grammar), unstatedParts('C', grammar)]).toEqual([
    ['x'],
    [],
    [],
  ]);
});

describe('readWithGrammar', () => {
  const because = (pattern: string, text = 'a') => {
    const reading = readWithGrammar(text, { pattern, absent: {} });
    return reading.parts === undefined ? reading.because : 'read';
  };

  it('never throws on a pattern that travelled in a manifest', () => {
    expect(because('(a')).toContain('missing closing )');
    expect(because('(?<x>a)\\1')).toContain('refers back');
    expect(because('a(?=b)')).toContain('looks ahead');
    expect(because(`${'a'.repeat(2_001)}`)).toContain('characters');
    expect(because('(?:a{1000}){3}')).toMatch(/repeat/);
    expect(because('[a-z]{900}[0-9]{900}[a-z]{900}')).toContain('repeats so much');
  });

  it('reads whole texts only, with or without anchors, and none too long to be a name', () => {
    expect(because('a', 'xa')).toContain('does not match');
    expect(because('a', 'ax')).toContain('does not match');
    expect(because('a|ab', 'ab')).toBe('read');
    expect(because('(?m)^a$', 'a\nb')).toContain('does not match');
    expect(because('.*', 'a'.repeat(255))).toBe('read');
    expect(because('.*', 'a'.repeat(256))).toContain('longer than 255');
  });

  it('treats names that every object has as ordinary parts', () => {
    const { parts } = readWithGrammar('a', { pattern: '(?<constructor>a)(?<__proto__>b)?', absent: {} });
    expect(Object.entries(parts ?? {})).toEqual([['constructor', 'A']]);
  });

  it.each([
    '('.repeat(999),
    '('.repeat(999) + ')'.repeat(999),
    '(?:\\p{L}|'.repeat(150) + ')'.repeat(150),
    '(?:a*){900}b',
    '[',
    '\\',
  ])('comes back from a hostile pattern %#', (pattern) => {
    expect(['read', expect.any(String)]).toContainEqual(because(pattern, `${'a'.repeat(254)}b`));
  });

  it('answers in linear time where a backtracking matcher does not come back', () => {
    // 255 characters that (a+)+$ would try in 2^254 ways.
    expect(because('(a+)+$', `${'a'.repeat(254)}b`)).toContain('does not match');
  });
});
