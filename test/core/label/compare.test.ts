import { describe, expect, it } from 'vitest';
import { compareFit, compareTokens } from '../../../src/core/label/compare-fit.ts';
import { findMisreads } from '../../../src/core/label/find-misreads.ts';
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
