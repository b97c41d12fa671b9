import { mkdtemp, rm, writeFile } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import fc from 'fast-check';
import { expect, test } from 'vitest';
import { writePocketFile } from '../../src/core/rounds/pocket/pocket-lines.ts';
import { mostInCode, mostInText, readParts, writeParts } from '../../src/core/rounds/pocket/pocket-parts.ts';
import { isOfPocket, readPocketText } from '../../src/core/rounds/pocket/read-pocket.ts';
import { serialiseRoundRecord } from '../../src/core/rounds/records/own-digests.ts';
import { loadFamilies } from '../../src/io/families/load-families.ts';
import { openRound } from '../../src/io/rounds/open-round.ts';
import { nodePocketTools } from '../../src/io/rounds/pocket-files.ts';
import { phoneTools } from '../../src/pocket/tools.ts';
import { mergeRounds } from '../../src/workflows/round-status.ts';
import { keptRound, knownOf, linesOf, pocketOf } from '../fixtures/pockets.ts';
import { sampleRecords } from '../fixtures/round.ts';

const families = await loadFamilies(['samples/families']);
const round = keptRound();
const people = Array.from({ length: 8 }, (_, index) => index + 1);
const pockets = people.map((number) => {
  const pocket = pocketOf(round, sampleRecords(round), families, { number, who: `person ${number}` });
  return {
    pocket,
    lines: linesOf(
      pocket,
      Array.from({ length: number }, () => ({})),
      1000 * number,
    ),
  };
});

const forms = {
  file: ({ pocket, lines }: (typeof pockets)[number]) => [writePocketFile(['x'], lines, pocket, phoneTools.hmac)],
  text: ({ lines }: (typeof pockets)[number]) => [writeParts(lines, mostInText, phoneTools).join('\n')],
  codes: ({ lines }: (typeof pockets)[number]) => [...writeParts(lines, mostInCode, phoneTools)],
};

test('eight pockets, in any form, order and number of times, make the same round', async () => {
  const all = pockets.map((one) => [forms.file(one), forms.text(one), forms.codes(one)]);
  const given = fc
    .tuple(
      fc.array(fc.nat(2), { minLength: 8, maxLength: 8 }),
      fc.array(fc.tuple(fc.nat(7), fc.nat(2)), { maxLength: 6 }),
    )
    .map(([first, again]) => [...first.map((form, pocket) => [pocket, form] as const), ...again])
    .chain((some) => fc.shuffledSubarray(some, { minLength: some.length }));
  const folder = await mkdtemp(join(tmpdir(), 'stickwright-pockets-'));
  let turn = 0;
  let first: readonly string[] | undefined;
  try {
    await fc.assert(
      fc.asyncProperty(given, fc.boolean(), async (some, backwards) => {
        const inOrder = some.flatMap(([pocket, form]) => all[pocket]?.[form] ?? []);
        const texts = backwards ? inOrder.toReversed() : inOrder;
        const desk = openRound(join(folder, `desk-${turn}.round`), 'desk');
        await desk.savePlan(round, Buffer.from('Room,Label\n'));
        for (const number of people) await desk.keepPocket(knownOf(number, `person ${number}`));
        const paths = texts.map((_, index) => join(folder, `back-${turn}-${index}.txt`));
        await Promise.all(paths.map((path, index) => writeFile(path, texts[index] ?? '')));
        turn++;
        await mergeRounds(paths, desk);
        const kept = (await desk.records()).records.map(serialiseRoundRecord);
        first ??= kept;
        expect(kept).toHaveLength(36);
        expect(kept).toEqual(first);
      }),
      { numRuns: 12, seed: 19 },
    );
  } finally {
    await rm(folder, { recursive: true, force: true });
  }
}, 120_000);

test('phone and desk pack alike enough to read each other, and prove alike', () => {
  fc.assert(
    fc.property(fc.string({ unit: 'binary', maxLength: 2000 }), fc.string({ maxLength: 400 }), (text, dictionary) => {
      const whole = Buffer.from(text).toString();
      for (const [from, to] of [
        [phoneTools, nodePocketTools],
        [nodePocketTools, phoneTools],
      ] as const)
        expect(to.unpack(from.pack(whole, dictionary), dictionary, 10_000)).toBe(whole);
      expect(phoneTools.sha256(whole)).toBe(nodePocketTools.sha256(whole));
      const secret = nodePocketTools.sha256(dictionary);
      expect(phoneTools.hmac(secret, whole)).toBe(nodePocketTools.hmac(secret, whole));
    }),
    { seed: 19 },
  );
});

test('no change of one character anywhere is taken for what the phone wrote', () => {
  const [one] = pockets.slice(-1);
  if (one === undefined) throw new Error('there are eight');
  const file = writePocketFile([], one.lines.slice(0, 2), one.pocket, phoneTools.hmac);
  const texts = [file, writeParts(one.lines.slice(0, 2), mostInText, phoneTools).join('\n')];
  const known = [one.pocket];
  const true2 = new Set(readPocketText(file, known, nodePocketTools).records.map(serialiseRoundRecord));
  expect(true2.size).toBe(2);
  fc.assert(
    fc.property(
      fc.constantFrom(...texts),
      fc.nat(),
      fc.string({ unit: 'binary-ascii', minLength: 0, maxLength: 1 }),
      (text, at, other) => {
        const place = at % text.length;
        const changed = text.slice(0, place) + other + text.slice(place + 1);
        const { records } = readPocketText(changed, known, nodePocketTools);
        for (const record of records) expect(true2).toContain(serialiseRoundRecord(record));
      },
    ),
    { seed: 19, numRuns: 2000 },
  );
});

test('any text can be asked for parts, and none is found in what is none', () => {
  fc.assert(
    fc.property(fc.string({ unit: 'binary', maxLength: 300 }), (text) => {
      fc.pre(!isOfPocket(text));
      expect(readParts(text, nodePocketTools)).toEqual([]);
      expect(readPocketText(text, [knownOf(1)], nodePocketTools).records).toEqual([]);
    }),
    { seed: 19 },
  );
});
