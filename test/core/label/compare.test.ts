import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { compareEntries, compareFit, compareTokens } from '../../../src/core/label/compare-fit.ts';
import { findMisreads, findMissingParts, misreadsOf } from '../../../src/core/label/find-misreads.ts';
import { findPackages, indexPackages } from '../../../src/core/label/find-packages.ts';
import { readLabel, readPackageName } from '../../../src/core/label/read-label.ts';
import { foldLookAlikes } from '../../../src/core/text/label-text.ts';
import { familyNamed, sampleFamilies } from './families.ts';

const families = await sampleFamilies();

describe('compareFit', () => {
  it('fits only where all that must agree is equal as written', () => {
    expect(compareFit({ a: 'K2' }, { a: 'k2', b: 'x' }, ['a']).answer).toBe('fits');
    expect(compareFit({ a: '65' }, { a: '650' }, ['a']).answer).toBe('differs');
    expect(compareFit({ a: 'O' }, { a: '0' }, ['a']).answer).toBe('cannot-tell');
    expect(compareFit({ a: 'O', b: '1' }, { a: '0', b: '2' }, ['a', 'b']).answer).toBe('differs');
    expect(compareFit({}, { a: 'K2' }, ['a']).answer).toBe('cannot-tell');
    expect(compareFit({}, {}, ['constructor']).answer).toBe('cannot-tell');
    expect(compareFit({ a: 'K2' }, {}, ['a']).parts).toEqual([
      { part: 'a', label: 'K2', other: undefined, relation: 'missing' },
    ]);
  });

  it('never fits where nothing is compared', () => {
    expect(compareFit({ a: 'K2' }, { a: 'K2' }, [])).toEqual({ answer: 'cannot-tell', parts: [] });
  });

  // The pairs that people and scanners take for one another: common practice, no source.
  it.each(['O0', 'I1', 'l1', 'S5', 'B8', 'Z2', 'G6', 'Q0', 'UV', '71'])(
    'takes %s for look-alikes, not for equals',
    (pair) => {
      const [a = '', b = ''] = pair;
      expect(compareFit({ p: `K${a}` }, { p: `K${b}` }, ['p']).parts[0]?.relation).toBe('misread');
    },
  );

  it('takes rn and m for look-alikes', () => {
    expect(foldLookAlikes('modern')).toBe(foldLookAlikes('modem'));
    expect(compareFit({ p: 'RN2' }, { p: 'M2' }, ['p']).answer).toBe('cannot-tell');
  });

  it('takes letters of other scripts for look-alikes, not for equals', () => {
    expect(compareFit({ p: '\u041A2' }, { p: 'K2' }, ['p']).parts[0]?.relation).toBe('misread');
  });
});

describe('compareTokens', () => {
  const relations = (label: string, fileName: string) =>
    compareTokens(label, fileName).parts.map(({ part, relation }) => `${part} ${relation}`);

  it('wants whole tokens in their order, past whatever else the name has', () => {
    expect(compareTokens('QX 75/C.4 R2', 'update_QX-75_C4-R2_20240117.zip').answer).toBe('fits');
    expect(compareTokens('QX 65', 'QX_650.zip').answer).toBe('differs');
    expect(compareTokens('QX 75 C', 'QXC.zip').answer).toBe('cannot-tell');
    expect(compareTokens('QX C4', 'QXC4.zip').answer).toBe('fits');
    expect(compareTokens('QX 65 C', 'QX_C_65.zip').answer).not.toBe('fits');
  });

  it('pairs what can stand for each other, and nothing else', () => {
    expect(relations('QX 75 C/4 2 R2', 'QXC4-3_R2.zip')).toEqual([
      'QX equal',
      '75 missing',
      'C equal',
      '4 equal',
      '2 differs',
      'R equal',
      '2 equal',
    ]);
    expect(relations('QX 75', 'sedge_75.zip')).toEqual(['QX missing', '75 equal']);
    expect(relations('QX K2', 'QX_K_20240117.zip')).toEqual(['QX equal', 'K equal', '2 missing']);
    expect(relations('QX EU', 'QX_US.zip')).toEqual(['QX equal', 'EU differs']);
  });

  it.each([
    ['QX', 'QX.1047.zip', ['QX equal']],
    ['QX 1047', 'QX.1047.zip', ['QX equal', '1047 equal']],
    // A run of six digits is a build or a serial number, on either side.
    ['QX 75', 'QX_20240117_65.zip', ['QX equal', '75 differs']],
    ['QX 123456', 'QX_65.zip', ['QX equal', '123456 missing']],
    ['QX 12345', 'QX_65.zip', ['QX equal', '12345 differs']],
    ['QX 75', 'QX_123456.zip', ['QX equal', '75 missing']],
    ['QX 75', 'QX_12345.zip', ['QX equal', '75 differs']],
    ['QX 75', 'QX_EU.zip', ['QX equal', '75 missing']],
    ['QX EU', 'QX_75.zip', ['QX equal', 'EU missing']],
    // What stands before, or behind, an equal one belongs to another place.
    ['QX 75 EU', '65_QX_EU.zip', ['QX equal', '75 missing', 'EU equal']],
    ['QX 75 EU', 'QX_EU_65.zip', ['QX equal', '75 missing', 'EU equal']],
    ['QX 75 C 2', 'QX_65_C_3.zip', ['QX equal', '75 differs', 'C equal', '2 differs']],
    ['QX 75 86', 'QX_65.zip', ['QX equal', '75 differs', '86 missing']],
    ['QX 75 86', 'QX_65_66.zip', ['QX equal', '75 differs', '86 differs']],
    ['75 QX', '65_QX.zip', ['75 differs', 'QX equal']],
    // A name that leaves the size out joins the letters around it.
    ['QX 75 C 2 R', 'QXC_2_R.zip', ['QX equal', '75 missing', 'C equal', '2 equal', 'R equal']],
    ['QX 75', 'QX.zip', ['QX equal', '75 missing']],
    ['QX 75 C R', 'QXC.zip', ['QX equal', '75 missing', 'C equal', 'R missing']],
    // Two in a row that are missing look no further than the next one that is there.
    ['QX 75 86 EU', 'QX_EU_65.zip', ['QX equal', '75 missing', '86 missing', 'EU equal']],
    ['QX 75 86', 'QX_86.zip', ['QX equal', '75 missing', '86 equal']],
    // The longest that both have in their order.
    ['A 1 B 2 C', 'A_B_C_1_2.zip', ['A equal', '1 missing', 'B equal', '2 missing', 'C equal']],
    ['1 A 2 A', 'A_2_A.zip', ['1 missing', 'A equal', '2 equal', 'A equal']],
    ['A B', 'B_A_B.zip', ['A equal', 'B equal']],
  ])('%s beside %s', (label, fileName, expected) => {
    expect(relations(label, fileName)).toEqual(expected);
  });

  it('finds as many tokens as there are in the longest that both have in their order', () => {
    const longest = (a: readonly string[], b: readonly string[]): number => {
      const [[first, ...rest], at] = [a, b.indexOf(a[0] ?? '')];
      if (first === undefined) return 0;
      return Math.max(longest(rest, b), at < 0 ? 0 : 1 + longest(rest, b.slice(at + 1)));
    };
    const tokens = fc.array(fc.constantFrom('P', 'R', 'T', '4', '9'), { minLength: 1, maxLength: 6 });
    fc.assert(
      fc.property(tokens, tokens, (a, b) => {
        const { answer, parts } = compareTokens(a.join(' '), `${b.join('_')}.zip`);
        const equal = parts.filter(({ relation }) => relation === 'equal');
        expect(parts.map(({ part }) => part)).toEqual(a);
        expect(equal).toHaveLength(longest(a, b));
        expect(answer === 'fits').toBe(equal.length === a.length);
      }),
      { seed: 14, numRuns: 500 },
    );
  });

  it('takes for a misreading only what looks alike in every token', () => {
    expect(relations('QX O5', 'QX_05.zip')).toEqual(['QX equal', 'O misread', '5 misread']);
    expect(compareTokens('QX 75', 'QX_75.zip').answer).toBe('fits');
    expect(compareTokens('-', 'QX_75.zip')).toEqual({ answer: 'cannot-tell', parts: [] });
  });

  it('takes texts of up to 255 characters, on either side', () => {
    const [longest, longer] = ['A'.repeat(255), 'A'.repeat(256)];
    expect(compareTokens(longest, `${longest}.zip`).answer).toBe('fits');
    expect(compareTokens('A', `${longer}.zip`)).toEqual({ answer: 'cannot-tell', parts: [] });
    expect(compareTokens(longer, 'A.zip')).toEqual({ answer: 'cannot-tell', parts: [] });
  });

  it('does not read the ending of the file as a part of its name', () => {
    expect(relations('QX ZIP', 'QX.zip')).toEqual(['QX equal', 'ZIP missing']);
  });

  it('does not work through texts that are no labels', () => {
    expect(compareTokens('A1 '.repeat(200), 'A1.zip')).toEqual({ answer: 'cannot-tell', parts: [] });
  });
});

describe('findMisreads', () => {
  const found = (text: string) => findMisreads(text, families).map(({ normalised }) => normalised);

  it.each([
    ['home-second 7S/5B', 'home-second 75/5B', 'one look-alike'],
    ['KZ-second 7S/SB', 'K2-second 75/5B', 'three'],
    ['OOO in OOP', '000 in 00P', 'every O'],
    ['home second 75/5B', 'home-second 75/5B', 'a space for a dash, beside a space that belongs there'],
    ['home - second 75/5B', 'home-second 75/5B', 'spaces around a dash'],
    ['home -second 75/5B', 'home-second 75/5B', 'a space before a dash, beside one that belongs there'],
    ['home- second 75/5B', 'home-second 75/5B', 'a space behind a dash, beside one that belongs there'],
    ['home\u00ADsecond 75/5B', 'home-second 75/5B', 'a soft hyphen, which some scanners see for a dash'],
    ['\u041A2-second 75/5B', 'K2-second 75/5B', 'a Cyrillic letter'],
    ['K2-sec0nd 75/5B', 'K2-second 75/5B', 'a letter, in the spelling of the family'],
    ['k2-SEC0ND 75/5b', 'K2-second 75/5B', 'the same, typed in other case'],
    ['K2-f0urth 75/5B', 'K2-fourth 75/5B', 'in a word that no example has'],
    ['K2-F0URTH 75/5B', 'K2-FOURTH 75/5B', 'the same, typed in capitals'],
    ['vx+O75+eu rev c', 'VX+075+EU Rev C', 'another family, with a word between the parts'],
  ])('%j may be %s: %s', (text, expected) => {
    expect(readLabel(text, families).readings).toEqual([]);
    expect(found(text)).toContain(expected);
  });

  it('does not suggest for what looks like nothing known, or is no label', () => {
    expect(found('VX+075+XX')).toEqual([]);
    expect(found('O0'.repeat(100))).toEqual([]);
  });
});

describe('findMisreads, letter by letter', () => {
  const family = (pattern: string, example: string) => ({
    ...familyNamed(families, 'sedge'),
    label: { ...familyNamed(families, 'sedge').label, pattern, examples: [{ text: example }] },
  });
  it.each([
    ['rn for m', '^(?<a>M2)-X$', 'RN2-X', ['M2-X']],
    ['m for rn, in the middle', '^A(?<a>RN)2$', 'AM2', ['ARN2']],
    ['rn for m, in the middle', '^A(?<a>M)2$', 'ARN2', ['AM2']],
    ['a dash for a space', '^(?<a>A) (?<b>2)$', 'A-2', ['A 2']],
    ['one dash of two for a space', '^(?<a>A) (?<b>2)-(?<c>3)$', 'A-2-3', ['A 2-3']],
    ['four slips, where one kind is slipped everywhere', '^(?<a>OSBZ)$', '0582', ['OSBZ']],
    ['no more than that', '^(?<a>OSBZV)$', '0582U', []],
    ['an underscore for a dash', '^(?<a>A)-(?<b>2)$', 'A_2', ['A-2']],
    ['a space on one side of a dash', '^(?<a>A)-(?<b>2)$', 'A -2', ['A-2']],
    ['a space on the other side', '^(?<a>A)-(?<b>2)$', 'A- 2', ['A-2']],
  ])('%s', (_, pattern, text, expected) => {
    expect(findMisreads(text, [family(pattern, 'none')]).map(({ normalised }) => normalised)).toEqual(expected);
  });

  it('names each label once, and looks into texts of up to 60 characters', () => {
    expect(findMisreads('0O0', [family('^(?<a>[O0]{3})$', 'none')]).map(({ normalised }) => normalised)).toHaveLength(
      7,
    );
    const ones = (count: number) => findMisreads(`${'X'.repeat(count - 1)}I`, [family('^(?<a>X+1)$', 'none')]);
    expect([ones(60).length, ones(61).length]).toEqual([1, 0]);
  });

  it('a part may be missing with what stands before it, and is named once', () => {
    const two = familyNamed(families, 'lantern');
    const missing = (text: string) =>
      findMissingParts(text, families).map(({ family: of, part }) => `${of.family} ${part}`);
    expect(missing('VX+075')).toEqual(['lantern region']);
    expect(missing('ZZ+075')).toEqual(['lantern region']);
    expect(missing('VX+075 Rev C')).toEqual(['lantern region']);
    expect(missing('K2-second 75/')).toEqual(['sedge series']);
    expect(missing('75/5B')).toEqual([]);
    expect(missing('-second 75/5B')).toEqual(['sedge factory']);
    expect(findMissingParts('VX+075', [two, { ...two, family: 'twin' }])).toHaveLength(2);
    expect(findMissingParts('VX+075', [family('^never$', 'VX+075+EU')])).toEqual([]);
    const parts = (text: string, pattern: string, ...examples: readonly string[]) => {
      const { label, ...rest } = family(pattern, '');
      const one = { ...rest, label: { ...label, examples: examples.map((example) => ({ text: example })) } };
      return findMissingParts(text, [one]).map(({ part, example }) => `${part} of ${example}`);
    };
    expect(parts('A', '^(?<a>[AB]) - (?<b>\\d)$', 'A - 2')).toEqual(['b of A - 2']);
    expect(parts('A', '^(?<a>[AB])-(?<b>\\d)$', 'A-2', 'B-3')).toEqual(['b of A-2']);
    expect(parts('1', '^(?<a>\\d)(?<b>\\d)$', '12')).toEqual(['a of 12', 'b of 12']);
  });

  it('are looked for among two thousand spellings at most, with the label itself', () => {
    let tried = 0;
    misreadsOf('O0'.repeat(30), () => {
      tried += 1;
      return false;
    });
    expect(tried).toBeGreaterThan(1_000);
    expect(tried).toBeLessThan(2_000);
  });
});

it('two entries that are one label agree', () => {
  expect(compareEntries('K2-second 75/5B', 'k2-SECOND 75/5b')).toMatchObject({ answer: 'agree', at: undefined });
});

describe('findPackages', () => {
  const packages = ['reed.746_5B_second_K2.zip', 'reed.702_5B_second_K2.zip', 'reed.746_5B_second_home.zip'].map(
    (name) => readPackageName(name, families),
  );

  it('gives all builds for exactly that label', () => {
    const found = findPackages(readLabel('k2-second 75/5b', families), indexPackages(packages));
    expect(found.map(({ fileName }) => fileName)).toEqual(['reed.746_5B_second_K2.zip', 'reed.702_5B_second_K2.zip']);
  });

  it('gives none for a label that two families read', () => {
    const sedge = familyNamed(families, 'sedge');
    const two = readLabel('K2-second 75/5B', [sedge, { ...sedge, family: 'copy' }]);
    expect(findPackages(two, indexPackages(packages))).toEqual([]);
  });
});
