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

  const of = (pattern: string) =>
    families
      .slice(0, 1)
      .map((family) => ({ ...family, label: { ...family.label, pattern, examples: [{ text: 'none' }] } }));
  const among = (pattern: string, text: string) => {
    const { answer, candidates } = findModelInPlate(text, of(pattern));
    return [answer, ...candidates.map((one) => one.text)];
  };

  it.each([
    ['Model#K2-second 75/5B', 'found', 'K2-second 75/5B'],
    ['Bezeichnung:K2-second 75/5B', 'found', 'K2-second 75/5B'],
    ['Art. Nr.: ((K2-second 75/5B))', 'found', 'K2-second 75/5B'],
    ['x1 Name: K2-second 75/5B', 'confirm', 'K2-second 75/5B'],
    ['K2-second 75/5B Serial: 12', 'confirm', 'K2-second 75/5B'],
    ['K2-second 75/5B type', 'confirm', 'K2-second 75/5B'],
    ['wall mount K2-second 75/5B', 'confirm', 'K2-second 75/5B'],
  ])('%s: %s', (line, answer, text) => {
    expect(ask(plate(line))).toMatchObject({ answer, texts: [text] });
  });

  it('says where it stands', () => {
    const line = 'Model: K2-second 75/5B';
    expect(findModelInPlate(plate(line), families).candidates).toMatchObject([{ line: 2, whole: line, misreadOf: [] }]);
  });

  it('takes what is alone once for a model, and two in one line for two', () => {
    expect(ask('home-second 75/5B\nspare home-second 75/5B').answer).toBe('found');
    expect(ask('home-second 75/5B home-third 65/8S')).toMatchObject({
      ...{ answer: 'several', texts: ['home-second 75/5B', 'home-third 65/8S'] },
    });
    expect(among('^(?<a>A )?(?<b>\\d{2})$', 'A 75')).toEqual(['found', 'A 75']);
    expect(among('^(?<a>\\d+):(?<b>Q)$', '75:Q')).toEqual(['found', '75:Q']);
  });

  it('reads on over empty lines, and past what stands behind', () => {
    const several = { answer: 'several', texts: ['VX+075+EU', 'VX+075+EU Rev C'] };
    expect(ask('Model: VX+075+EU\n\nRev C')).toMatchObject(several);
    expect(ask('Model: VX+075+EU\nRev C made')).toMatchObject(several);
  });

  it('looks at the first ten thousand characters, and guesses at the first forty texts', () => {
    expect(ask(`${'x'.repeat(9_980)}\nK2-second 75/5B`).answer).toBe('found');
    expect(ask(`${'x'.repeat(10_000)}\nK2-second 75/5B`).answer).toBe('none');
    const lines = Array.from({ length: 41 }, (_, at) => `text${at}`);
    expect(among('^(?<a>AB[0]{3})$', `${lines.slice(0, 30).join('\n')}\nABOOO`)).toEqual(['misread', 'ABOOO']);
    expect(among('^(?<a>AB[0]{3})$', `${lines.join('\n')}\nABOOO`)).toEqual(['none']);
  });

  it('guesses at what has letters and more than three characters in one line, the longest alone', () => {
    expect(ask('Model: VX+O75+EU Rev C')).toMatchObject({ answer: 'misread', texts: ['VX+O75+EU Rev C'] });
    expect(among('^(?<a>A10)$', 'A1O')).toEqual(['none']);
    expect(among('^(?<a>A100)$', 'A1OO')).toEqual(['misread', 'A1OO']);
    expect(among('^(?<a>123I)$', '1231')).toEqual(['none']);
    expect(ask('K2-5econd\n75/5B').answer).toBe('none');
  });

  it('shows at most six labels that it may be, each with its families', () => {
    const [found] = checkPlate(findModelInPlate('Model: IIII', of('^(?<a>[17]{4})$')));
    expect(found?.facts).toMatchObject({ candidates: { length: 6, 0: { families: [families[0]?.title] } } });
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
