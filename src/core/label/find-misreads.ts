import type { Family } from '../model/family.ts';
import type { LabelReading } from '../model/panel-identity.ts';
import { lookAlikesOf, normaliseLabel, upperForComparing } from '../text/label-text.ts';
import { readLabel } from './read-label.ts';
import { isRead, readWithGrammar } from './read-with-grammar.ts';

/** How many spellings are tried for one label; a label with more look-alikes than that is not guessed at further. */
const mostSpellings = 2_000;
const mostSwaps = 3;
/** A longer text is not a label with a slip in it. */
const longestGuessed = 60;

/**
 * Labels that the families read and that look like this one, nearest first: a look-alike swapped (at most three, or all
 * of one kind), a space or a dash too many or too few. They are suggestions for a person who goes back to the
 * plate, never readings.
 */
export function findMisreads(text: string, families: readonly Family[]): readonly LabelReading[] {
  const isLabel = (spelling: string): boolean => families.some(({ label }) => isRead(spelling, label));
  return misreadsOf(text, isLabel).map((spelling) =>
    readLabel(asOnPlate(spelling, readLabel(spelling, families)), families),
  );
}

/** The spellings alone, of what IS LABEL takes. */
export function misreadsOf(text: string, isLabel: (spelling: string) => boolean): readonly string[] {
  const normalised = normaliseLabel(text);
  if (normalised.length > longestGuessed) return [];
  const found = new Map<string, string>();
  for (const spelling of spellingsOf(normalised)) {
    const key = upperForComparing(spelling);
    if (spelling !== normalised && !found.has(key) && isLabel(spelling)) found.set(key, spelling);
  }
  return [...found.values()];
}

/**
 * As the plate has it, so that a person can compare letter by letter: words as the family's examples write them, and
 * no capital in the middle of another word in small letters, where only the mending put one.
 */
function asOnPlate(spelling: string, { readings }: LabelReading): string {
  const examples = readings.flatMap(({ family }) =>
    family.label.examples.flatMap(({ text }) => text.match(word) ?? []),
  );
  const written = new Map(examples.toReversed().map((one) => [upperForComparing(one), one]));
  return spelling.replace(word, (one) => written.get(upperForComparing(one)) ?? withoutInnerCapitals(one));
}

const word = /\p{L}+/gu;

const withoutInnerCapitals = (text: string): string =>
  /\p{Ll}/u.test(text) ? text.replace(/(?<=\p{L})[A-Z]/gu, (capital) => capital.toLowerCase()) : text;

function spellingsOf(text: string): readonly string[] {
  const spellings = new Set<string>([text]);
  for (const variant of spacingsOf(text)) spellings.add(variant);
  for (const [from, to] of everywhere(text))
    spellings.add([...text].map((one) => (one.toUpperCase() === from ? to : one)).join(''));
  let layer: readonly string[] = [...spellings];
  for (let swaps = 0; swaps < mostSwaps; swaps++) {
    const next: string[] = [];
    for (const spelling of allWithOneSwap(layer)) {
      if (spellings.size >= mostSpellings) return [...spellings];
      if (spellings.has(spelling)) continue;
      spellings.add(spelling);
      next.push(spelling);
    }
    layer = next;
  }
  return [...spellings];
}

/** Spaces and dashes are lost or gained when a plate is typed: none, around dashes, one for the other, all or one. */
function spacingsOf(text: string): readonly string[] {
  return [
    text.replace(/[^\S\n]*([-_])[^\S\n]*/g, '$1'),
    text.replaceAll(' ', ''),
    text.replaceAll(' ', '-'),
    text.replaceAll('-', ' '),
    text.replaceAll('_', '-'),
    text.replaceAll('_', ' '),
    text.replaceAll('\u00AD', '-'),
    ...[...text.matchAll(/[ -]/g)].map(({ index, 0: one }) =>
      [text.slice(0, index), text.slice(index + 1)].join(one === ' ' ? '-' : ' '),
    ),
  ];
}

function everywhere(text: string): readonly (readonly [string, string])[] {
  return [...new Set(text.toUpperCase())].flatMap((from) => lookAlikesOf(from).map((to) => [from, to] as const));
}

function* allWithOneSwap(texts: readonly string[]): Generator<string> {
  for (const text of texts) yield* withOneSwap(text);
}

function withOneSwap(text: string): readonly string[] {
  const characters = [...text];
  const swapped = characters.flatMap((character, at) =>
    lookAlikesOf(character).map((other) => characters.with(at, other).join('')),
  );
  const merged = [...text.matchAll(/rn/gi)].map(({ index }) => `${text.slice(0, index)}M${text.slice(index + 2)}`);
  const split = [...text.matchAll(/m/gi)].map(({ index }) => `${text.slice(0, index)}RN${text.slice(index + 1)}`);
  return [...swapped, ...merged, ...split];
}

interface MissingPart {
  readonly family: Family;
  readonly part: string;
  /** Where on the plate it stands, as the family says; undefined where it does not say. */
  readonly where: string | undefined;
  /** A label of this family that has the part. */
  readonly example: string;
}

/** Letters and digits by kind; of one shape are `K2-second 75/5B` and `K3-fourth 65/1D`: `A9-AAAAAA 99/9A`. */
const shapeOf = (text: string): string => text.replace(/\p{L}/gu, 'A').replace(/\p{N}/gu, '9');

/**
 * The parts whose absence would explain why no family reads a label: a family's own example without that part (and
 * the separator before it) has the label's shape.
 */
export function findMissingParts(text: string, families: readonly Family[]): readonly MissingPart[] {
  const shape = shapeOf(normaliseLabel(text));
  const found = families.flatMap((family) =>
    family.label.examples.flatMap(({ text: example }) => {
      const whole = normaliseLabel(example);
      const reading = readWithGrammar(whole, family.label);
      if (reading.parts === undefined) return [];
      return Object.entries(reading.spans)
        .filter(([, [start, end]]) => without(whole, start, end).some((rest) => shapeOf(rest) === shape))
        .map(([part]) => ({ family, part, where: whereOf(family, part), example }));
    }),
  );
  return found.filter(
    (one, index) => found.findIndex((other) => other.family === one.family && other.part === one.part) === index,
  );
}

const without = (text: string, start: number, end: number): readonly string[] => [
  text.slice(0, start) + text.slice(end),
  text.slice(0, start).replace(/[^\p{L}\p{N}]+$/u, '') + text.slice(end),
];

/** Where on the plate a family's part stands. */
export function whereOf(family: Family, part: string): string | undefined {
  return Object.hasOwn(family.label.where, part) ? family.label.where[part] : undefined;
}
