import fc from 'fast-check';
import type { Family } from '../../src/core/model/family.ts';

interface Segment {
  readonly name: string;
  readonly separator: string;
  readonly pattern: string;
  readonly optional: boolean;
}

const kinds = ['\\d{2,3}', '\\d', '[A-Z]\\d', '[A-Z]{2}', 'EU|UK|AM', 'K\\d{1,2}', '[A-Z]'];

/** Separated parts, so that a grammar reads a label in one way only, as makers' labels are meant to. */
const segments: fc.Arbitrary<readonly Segment[]> = fc
  .array(
    fc.record({
      separator: fc.constantFrom('-', ' ', '/', '.', ' REV '),
      pattern: fc.constantFrom(...kinds),
      optional: fc.boolean(),
    }),
    { minLength: 1, maxLength: 5 },
  )
  .map((list) =>
    list.map((segment, index) => ({ ...segment, name: `part${index}`, optional: segment.optional && index > 0 })),
  )
  .filter((list) => list.every((segment, index) => !clashes(segment, list.slice(0, index))));

/** An optional part must not be mistaken for a later one: each separator is used once where parts may be left out. */
const clashes = (segment: Segment, earlier: readonly Segment[]): boolean =>
  earlier.some((other) => other.optional && other.separator.trim() === segment.separator.trim()) ||
  (segment.optional && earlier.some((other) => other.separator.trim() === segment.separator.trim()));

const escaped = (text: string): string => text.replaceAll('.', '\\.');

export interface GrammarCase {
  readonly family: Family;
  readonly label: string;
  readonly parts: Readonly<Record<string, string>>;
  /** A package made for exactly that label. */
  readonly fileName: string;
}

/**
 * A family with an invented grammar, one label made from it with its parts, and the name of the package made for it.
 */
export const grammarCases: fc.Arbitrary<GrammarCase> = fc
  .tuple(fc.stringMatching(/^[A-Z]{2,4}$/), segments)
  .chain(([prefix, list]) =>
    fc
      .tuple(
        ...list.map(({ optional, pattern }) => {
          const value = fc.stringMatching(new RegExp(`^(?:${pattern})$`));
          return optional ? fc.option(value, { nil: undefined }) : value;
        }),
      )
      .map((values) => makeCase(prefix, list, values)),
  );

function makeCase(prefix: string, list: readonly Segment[], values: readonly (string | undefined)[]): GrammarCase {
  const optional = list.filter((segment) => segment.optional).map(({ name }) => [name, 'none'] as const);
  const absent = Object.fromEntries(optional);
  const pattern = list
    .map((segment) => {
      const group = `${escaped(segment.separator)}(?<${segment.name}>${segment.pattern})`;
      return segment.optional ? `(?:${group})?` : group;
    })
    .join('');
  const stated = list.flatMap((segment, index) => {
    const value = values[index];
    return value === undefined ? [] : [{ ...segment, value }];
  });
  const label = prefix + stated.map(({ separator, value }) => separator + value).join('');
  const inName = list
    .map(({ name, pattern: part, optional: may }) =>
      may ? `(?:_${name}(?<${name}>${part}))?` : `_${name}(?<${name}>${part})`,
    )
    .join('');
  return {
    label,
    parts: {
      ...Object.fromEntries(optional.map(([name]) => [name, 'none'])),
      ...Object.fromEntries(stated.map(({ name, value }) => [name, value])),
    },
    fileName: `${prefix.toLowerCase()}${stated.map(({ name, value }) => `_${name}${value}`).join('')}_7.zip`,
    family: {
      schema: 1,
      family: 'invented',
      title: 'Invented',
      source: 'invented.yaml',
      sha256: '0'.repeat(64),
      label: { pattern: `^${prefix}${pattern}$`, absent, where: {}, examples: [{ text: label }] },
      packages: [
        {
          pattern: `^${prefix}${inName}_(?<build>\\d+)\\.zip$`,
          absent,
          agree: list.map(({ name }) => name),
          examples: [{ text: 'x' }],
        },
      ],
      build: { scheme: 'counter' },
      'published-hash': 'expected',
      modes: {},
    },
  };
}

/** One character put in, taken out or replaced, at any place. */
export const singleChanges = (text: string): fc.Arbitrary<string> =>
  fc.oneof(
    fc.tuple(fc.nat(text.length), character).map(([at, one]) => text.slice(0, at) + one + text.slice(at)),
    fc.nat(Math.max(0, text.length - 1)).map((at) => text.slice(0, at) + text.slice(at + 1)),
    fc
      .tuple(fc.nat(Math.max(0, text.length - 1)), character)
      .map(([at, one]) => text.slice(0, at) + one + text.slice(at + 1)),
  );

/** What people type and scanners see: mostly label characters, and their look-alikes in other scripts and widths. */
const character = fc.oneof(
  { weight: 6, arbitrary: fc.constantFrom(...'ABCDEFGHIJKLMNOPQRSTUVWXYZ0123456789-/. _') },
  { weight: 1, arbitrary: fc.constantFrom(...'oilszbgqАВЕКМНОРСТХοιｋ１ıſ–—\u00A0\u00AD\u200B') },
  { weight: 1, arbitrary: fc.string({ unit: 'grapheme', minLength: 1, maxLength: 1 }) },
);
