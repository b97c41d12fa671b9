import { describe, expect, it } from 'vitest';
import { checkEntries, checkLabelList, checkPlate } from '../../../src/core/checks/fit/check-label.ts';
import { textsOf } from '../../../src/core/findings/finding.ts';
import { findModelInPlate } from '../../../src/core/label/find-model-in-plate.ts';
import { sampleFamilies } from './families.ts';

const families = await sampleFamilies();

const ask = (text: string) => {
  const plate = findModelInPlate(text, families);
  return {
    answer: plate.answer,
    texts: plate.candidates.map(({ text: label }) => label),
    codes: checkPlate(plate).map(({ code }) => code),
  };
};

const plate = (model: string): string =>
  `Interactive panel\r\n${model}\r\nRating: 100-240V~ 50/60Hz 4.5A\r\nS/N: Q0O17345B8812\r\nDate 2023-11\r\nMade for Quillhaven`;

describe('findModelInPlate', () => {
  it.each([
    ['K2-second 75/5B', 'K2-second 75/5B'],
    ['Model: K2–second 75/5B', 'K2-second 75/5B'],
    ['MODEL NO. VX+075+EU Rev C', 'VX+075+EU Rev C'],
    ['Typ 86 in 24P.M3', '86 in 24P.M3'],
  ])('finds %s among rating, serial and date', (line, text) => {
    expect(ask(plate(line))).toEqual({ answer: 'found', texts: [text], codes: [] });
  });

  it('takes the longest reading in its place', () => {
    expect(ask('86 in 24P.M3').texts).toEqual(['86 in 24P.M3']);
    expect(ask('VX+075+EU Rev C').texts).toEqual(['VX+075+EU Rev C']);
  });

  it('wants a look where other text stands beside it, because it may belong to it', () => {
    expect(ask(plate('VX+075+EU Rev CCC'))).toEqual({
      answer: 'confirm',
      texts: ['VX+075+EU'],
      codes: ['label/plate-confirm'],
    });
    expect(ask('panel (home-second 75/5B), wall mount')).toMatchObject({
      answer: 'confirm',
      texts: ['home-second 75/5B'],
    });
  });

  it('never takes or leaves a part over a line break by itself', () => {
    expect(ask(plate('Model: VX+075+EU\nRev C'))).toEqual({
      answer: 'several',
      texts: ['VX+075+EU', 'VX+075+EU Rev C'],
      codes: ['label/plate-several'],
    });
    expect(ask('VX+075\n+EU')).toMatchObject({ answer: 'confirm', texts: ['VX+075+EU'] });
  });

  it('shows all where there are several, and one where the same is repeated', () => {
    expect(ask('home-second 75/5B\nspare for home-third 65/8S')).toMatchObject({
      answer: 'several',
      texts: ['home-second 75/5B', 'home-third 65/8S'],
    });
    expect(ask('home-second 75/5B\nHOME-Second 75/5b')).toMatchObject({
      answer: 'found',
      texts: ['home-second 75/5B'],
    });
  });
});

describe('two entries', () => {
  it('agree in any case and with any dash', () => {
    expect(checkEntries('K2-second 75/5B', ' k2–second\u00a075/5b')).toEqual([]);
  });

  it('show where they differ, side by side', () => {
    const [found] = checkEntries('K2-second 75/5B', 'K2-second 7S/5B');
    expect(found?.code).toBe('label/entries-differ');
    expect(found?.facts).toEqual({ first: 'K2-second 75/5B', second: 'K2-second 7S/5B', at: 11, lookAlike: true });
    expect(found && textsOf(found).seen.split('\n').slice(1)).toEqual([
      '  first   K2-second 75/5B',
      '  second  K2-second 7S/5B',
      '                     ^',
    ]);
    expect(checkEntries('VX+075+EU', 'VX+075+EU Rev C')[0]?.facts).toMatchObject({ at: 9, lookAlike: false });
  });
});

it('reads a list of labels, one a line, with line numbers for what is said about them', () => {
  const list = checkLabelList('\uFEFF# hall\r\nhome-second 75/5B\r\n\r\n  home-third 6S/85 \n', families);
  expect(list.map(({ line, reading, findings }) => [line, reading.text, findings.map(({ code }) => code)])).toEqual([
    [2, 'home-second 75/5B', ['label/read']],
    [4, 'home-third 6S/85', ['label/possible-misread']],
  ]);
});

describe('a plate that a scanner may have misread', () => {
  it('is read as nothing, with suggestions', () => {
    expect(ask(plate('Model: K2-5econd 75/5B'))).toMatchObject({
      answer: 'misread',
      codes: ['label/possible-misread'],
    });
    expect(ask(plate(''))).toEqual({ answer: 'none', texts: [], codes: ['label/plate-none'] });
    expect(ask('')).toMatchObject({ answer: 'none' });
  });
});
