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
    ['TS75C4-2 K2', 'TS75C4-2 K2'],
    ['Model: TS75C4–2 K2', 'TS75C4-2 K2'],
    ['MODEL NO. LN-075-VX-EU Rev C', 'LN-075-VX-EU Rev C'],
    ['Typ BSL86/24P.M3', 'BSL86/24P.M3'],
  ])('finds %s among rating, serial and date', (line, text) => {
    expect(ask(plate(line))).toEqual({ answer: 'found', texts: [text], codes: [] });
  });

  it('takes the longest reading in its place', () => {
    expect(ask('TS75C4-2 K2').texts).toEqual(['TS75C4-2 K2']);
  });

  it('wants a look where other text stands beside it, because it may belong to it', () => {
    expect(ask(plate('TS75C4-2 K22'))).toEqual({
      answer: 'confirm',
      texts: ['TS75C4-2'],
      codes: ['label/plate-confirm'],
    });
    expect(ask('panel (TS75C4-2), wall mount')).toMatchObject({ answer: 'confirm', texts: ['TS75C4-2'] });
  });

  it('never takes or leaves a part over a line break by itself', () => {
    expect(ask(plate('Model: TS75C4-2\nK2'))).toEqual({
      answer: 'several',
      texts: ['TS75C4-2', 'TS75C4-2 K2'],
      codes: ['label/plate-several'],
    });
    expect(ask('LN-075-\nVX-EU')).toMatchObject({ answer: 'confirm', texts: ['LN-075-VX-EU'] });
  });

  it('shows all where there are several, and one where the same is repeated', () => {
    expect(ask('TS75C4-2\nspare for TS65B1-3')).toMatchObject({ answer: 'several', texts: ['TS75C4-2', 'TS65B1-3'] });
    expect(ask('TS75C4-2\nts75c4-2')).toMatchObject({ answer: 'found', texts: ['TS75C4-2'] });
  });

  it('suggests what a scanner may have misread, and passes nothing', () => {
    expect(ask(plate('Model: T575C4-2 K2'))).toMatchObject({ answer: 'misread', codes: ['label/possible-misread'] });
    expect(ask(plate(''))).toEqual({ answer: 'none', texts: [], codes: ['label/plate-none'] });
    expect(ask('')).toMatchObject({ answer: 'none' });
  });
});

describe('two entries', () => {
  it('agree in any case and with any dash', () => {
    expect(checkEntries('TS75C4-2 K2', ' ts75c4–2\u00A0k2')).toEqual([]);
  });

  it('show where they differ, side by side', () => {
    const [found] = checkEntries('TS75C4-2 K2', 'TS7SC4-2 K2');
    expect(found?.facts).toEqual({ first: 'TS75C4-2 K2', second: 'TS7SC4-2 K2', at: 3, lookAlike: true });
    expect(found && textsOf(found).seen.split('\n').slice(1)).toEqual([
      '  first   TS75C4-2 K2',
      '  second  TS7SC4-2 K2',
      '             ^',
    ]);
    expect(checkEntries('TS75C4-2', 'TS75C4-2 K2')[0]?.facts).toMatchObject({ at: 8, lookAlike: false });
  });
});

it('reads a list of labels, one a line, with line numbers for what is said about them', () => {
  const list = checkLabelList('\uFEFF# hall\r\nTS75C4-2\r\n\r\n  T565B1 \n', families);
  expect(list.map(({ line, reading, findings }) => [line, reading.text, findings.map(({ code }) => code)])).toEqual([
    [2, 'TS75C4-2', ['label/read']],
    [4, 'T565B1', ['label/possible-misread']],
  ]);
});
