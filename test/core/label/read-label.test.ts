import { describe, expect, it } from 'vitest';
import { readLabel, readPackageName } from '../../../src/core/label/read-label.ts';
import { readWithGrammar } from '../../../src/core/label/read-with-grammar.ts';
import { normaliseLabel, upperForComparing } from '../../../src/core/text/label-text.ts';
import { sampleFamilies } from './families.ts';

const families = await sampleFamilies();

const partsOf = (text: string) => readLabel(text, families).readings.map(({ family, parts }) => [family.family, parts]);

describe('normaliseLabel', () => {
  it.each([
    ['TS75C4\u20112 K2', 'TS75C4-2 K2', 'non-breaking hyphen'],
    ['TS75C4\u20132\u00A0K2', 'TS75C4-2 K2', 'en dash, no-break space'],
    ['TS75C4\u22122  K2 ', 'TS75C4-2 K2', 'minus sign, doubled space'],
    ['ＴＳ７５Ｃ４－２\u3000Ｋ２', 'TS75C4-2 K2', 'full-width letters'],
    ['\uFEFFTS75C4-2\u200B K2\r\n', 'TS75C4-2 K2', 'byte-order mark, zero-width space, line end'],
    ['ts75c4-2\tk2', 'ts75c4-2 k2', 'the case is kept'],
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
    expect(partsOf('ts75c4-2 k2')).toEqual([['slate', { size: '75', series: 'C4', generation: '2', factory: 'K2' }]]);
    expect(partsOf('TS110C4')).toEqual([
      ['slate', { size: '110', series: 'C4', generation: '1', factory: 'standard' }],
    ]);
    expect(partsOf('LN-075-VX-EU Rev C')).toEqual([
      ['lantern', { size: '075', series: 'VX', region: 'EU', revision: 'C' }],
    ]);
    expect(partsOf('BSL65/22E.N12')).toEqual([['basalt', { size: '65', year: '22', tier: 'E', board: 'N12' }]]);
  });

  it('names the parts in the order of the label', () => {
    expect(Object.keys(readLabel('TS110C4', families).readings[0]?.parts ?? {})).toEqual([
      'size',
      'series',
      'generation',
      'factory',
    ]);
  });

  it('takes a part that only `absent` names as the same for all', () => {
    expect(readWithGrammar('a', { pattern: '(?<x>a)', absent: { region: 'EU' } }).parts).toEqual({
      x: 'A',
      region: 'EU',
    });
  });

  it('keeps the text as typed and reads only the whole of it', () => {
    expect(readLabel(' TS75C4–2 ', families)).toMatchObject({ text: ' TS75C4–2 ', normalised: 'TS75C4-2' });
    expect(partsOf('TS75C4-2 K2 X')).toEqual([]);
    expect(partsOf('XTS75C4-2')).toEqual([]);
    expect(partsOf('T575C4-2')).toEqual([]);
    expect(partsOf(`TS75C4${' '.repeat(10)}${'K2 '.repeat(200)}`)).toEqual([]);
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
    'TSC4-2_K2_20240117 (1).zip',
    'TSC4-2_K2_20240117.zip.zip',
    'TSC4-2 K2_20240117.zip',
    'TSC4-\uFF12_20240117.zip',
    'firmware.zip',
  ])('%s is nobody’s name', (fileName) => {
    expect(readPackageName(fileName, families).readings).toEqual([]);
  });
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
