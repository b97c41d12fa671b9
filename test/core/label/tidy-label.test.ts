import { describe, expect, it, test } from 'vitest';
import { checkInvisible, checkLabel } from '../../../src/core/checks/fit/check-label.ts';
import { textsOf, verdictOf } from '../../../src/core/findings/finding.ts';
import { readLabel } from '../../../src/core/label/read-label.ts';
import { placeUnread, readTidied, tidied } from '../../../src/core/label/tidy-label.ts';
import { foldLookAlikes, lookAlikesInWords } from '../../../src/core/text/label-text.ts';
import { sampleFamilies } from './families.ts';

// How people write what is printed: common practice, no source.
const families = await sampleFamilies();
const meant = (text: string): string | undefined => readTidied(text, families)?.normalised;
const say = (text: string) => checkLabel(readLabel(text, families), families);

describe('a label as people type it', () => {
  it.each([
    ['"K2-second 75/5B"', 'K2-second 75/5B'],
    ['„K2-second 75/5B“', 'K2-second 75/5B'],
    ['Model: K2-second 75/5B', 'K2-second 75/5B'],
    ['MODEL K2-second 75/5B.', 'K2-second 75/5B'],
    ['Typ: "K2-second 75/5B".', 'K2-second 75/5B'],
    ['K2_second 75/5B', 'K2-second 75/5B'],
    ['K2 second 75-5B', 'K2-second 75/5B'],
    ['K2-second/75/5B', 'K2-second 75/5B'],
    ['k2-second 75_5b', 'k2-second 75/5b'],
    ['(86 in 24P.M3)', '86 in 24P.M3'],
    ['"Typ: Model: K2-second 75/5B"', 'K2-second 75/5B'],
    ['K2 - second 75 / 5B', 'K2-second 75/5B'],
    [`${'('.repeat(65)}K2-second 75/5B`, 'K2-second 75/5B'],
  ])('%s is meant as %s, and nobody goes on with it unconfirmed', (typed, exact) => {
    expect(meant(typed)).toBe(exact);
    const found = say(typed);
    expect(found.map(({ code }) => code)).toEqual(['label/read-otherwise']);
    expect(verdictOf(found)).toBe('not-ready');
    expect(textsOf(found[0] as never).todo).toContain(`type exactly this: "${exact}"`);
  });

  it('is read as it is where only dashes and spaces of another kind stand in it', () => {
    for (const text of ['  K2-second 75/5B ', 'K2–second 75/5B', 'K2-second\u00a075/5B'])
      expect(say(text).map(({ code }) => code)).toEqual(['label/read']);
  });

  it('is not guessed at where what is meant is not one thing alone, or where a character is another', () => {
    const longer = `${'('.repeat(66)}K2-second 75/5B`;
    for (const text of [
      longer,
      'K2-second 75/5B',
      'K2-second 7S/5B',
      'K2-secnd 75/5B',
      'COFFEE MACHINE',
      'Model:',
      '"',
      '75 5B',
      '',
    ])
      expect(meant(text), text).toBeUndefined();
  });
});

it('is not guessed at where two labels may be meant', () => {
  const written = (pattern: string, example: string) => ({ grammar: { pattern, absent: {} }, examples: [example] });
  const [dash, slash] = [written('^(?<a>A)-(?<b>1)$', 'A-1'), written('^(?<a>A)/(?<b>1)$', 'A/1')];
  expect([tidied('A_1', [dash]), tidied('A_1', [slash]), tidied('A_1', [dash, slash])]).toEqual([
    'A-1',
    'A/1',
    undefined,
  ]);
});

describe('the place where a text stops being a label', () => {
  const known = families.map(({ label }) => ({ grammar: label, examples: label.examples.map(({ text }) => text) }));
  it.each<[string, readonly [number, number] | undefined]>([
    ['K2-secnd 75/5B', [6, 7]],
    ['K2-second 75/X?', [13, 15]],
    ['K2-second 75/XX', [13, 14]],
    ['K2-second 7/5B', [11, 12]],
    ['K2-second 75/', [13, 14]],
    ['86 Xn 24P.M3', [3, 4]],
    // A letter or two begin a label of somebody's, and a quarter of it is not much more.
    ['K2-Xecond 75/5B', undefined],
    ['QQ-second 75/5B', undefined],
    ['##', undefined],
  ])('of %s is %j', (text, place) => {
    expect(placeUnread(text, known)).toEqual(place);
  });

  it('is looked for in up to eighty characters', () => {
    const at = (count: number) => {
      const grammar = { pattern: `^(?<a>x{${count}})-(?<b>1)$`, absent: {} };
      return placeUnread(`${'x'.repeat(count)}-Q`, [{ grammar, examples: [`${'x'.repeat(count)}-1`] }]);
    };
    expect([at(78), at(79)]).toEqual([[79, 80], undefined]);
  });
});

describe('what is said of a label', () => {
  const sedge = families.find(({ family }) => family === 'sedge') as (typeof families)[number];
  const ones = { ...sedge, label: { ...sedge.label, pattern: '^(?<a>[17]{3})$', examples: [{ text: '111' }] } };
  const facts = (text: string, known: typeof families) =>
    checkLabel(readLabel(text, known), known).map((one) => one.facts);

  it('shows six at most of what it may be, and whose labels these are', () => {
    expect(facts('K2-5econd 75/5B', families)).toMatchObject([
      { candidates: { 0: { text: 'K2-second 75/5B', families: [sedge.title] } } },
    ]);
    expect(facts('III', [ones])).toMatchObject([{ candidates: { length: 6 } }]);
    expect(facts('\u0406\u0406\u0406', [ones])).toMatchObject([{ candidates: { length: 6 } }]);
    const many = Array.from({ length: 8 }, (_, at) => ({ ...sedge, family: `f${at}`, title: `F${at}` }));
    expect(facts('COFFEE', many)).toMatchObject([
      { families: { length: 6, 0: { title: 'F0', example: 'K2-second 75/5B' } } },
    ]);
  });

  it('tells an order that was changed from what only cannot be seen, also where there is both', () => {
    const codes = (text: string) => checkInvisible(text).map(({ code }) => code);
    expect(codes('K2\u200b')).toEqual(['label/invisible-characters']);
    expect(codes('K\u200b2\u202e')).toEqual(['label/order-changed']);
  });
});

describe('a label that nobody reads', () => {
  it('has its place marked under the text', () => {
    const [found] = say('K2-secnd 75/5B');
    expect(found?.code).toBe('label/unreadable');
    expect(textsOf(found as never).seen).toMatch(/up to here:\n {2}K2-secnd 75\/5B\n {2} {6}\^+$/);
    const [none] = say('COFFEE MACHINE');
    expect(textsOf(none as never).seen).not.toContain('^');
  });

  it('with letters of another alphabet names each, with its place and what it looks like', () => {
    const [found, ...others] = say('\u041a2-second 75/5\u0412');
    expect([found?.code, others]).toEqual(['label/letters-of-another-alphabet', []]);
    const { seen } = textsOf(found as never);
    expect(seen).toContain('"\u041a" at place 1 is a Cyrillic letter that looks like K');
    expect(seen).toContain('"\u0412" at place 15 is a Cyrillic letter that looks like B');
    expect(seen).toContain('With Latin letters it would be "K2-second 75/5B"');
    const alone = checkLabel(readLabel('\u0391B-1', []), []);
    expect(alone.map(({ code }) => code)).toEqual(['label/letters-of-another-alphabet', 'label/no-family']);
  });
});

test('every pair that is folded is in the explanation, and none beside them', () => {
  const groups = lookAlikesInWords.split('; ').map((group) => group.split(/, | and /));
  for (const [first = '', ...others] of groups)
    for (const other of others) expect(foldLookAlikes(other), `${first} ${other}`).toBe(foldLookAlikes(first));
  const named = new Set(groups.flat().map((one) => one.toUpperCase()));
  const all = [...'ABCDEFGHIJKLMNOPQRSTUVWXYZ0123456789'];
  const folded = all.filter((one) =>
    all.some((other) => other !== one && foldLookAlikes(one) === foldLookAlikes(other)),
  );
  expect(folded.filter((one) => !named.has(one))).toEqual([]);
  const [misread] = say('K2-second 7S/5B');
  expect(textsOf(misread as never).why).toContain(lookAlikesInWords);
});
