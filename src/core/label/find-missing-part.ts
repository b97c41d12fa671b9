import type { Family } from '../model/family.ts';
import { normaliseLabel } from './normalise-label.ts';
import { readWithGrammar } from './read-with-grammar.ts';

export interface MissingPart {
  readonly family: Family;
  readonly part: string;
  /** Where on the plate it stands, as the family says; undefined where it does not say. */
  readonly where: string | undefined;
  /** A label of this family that has the part. */
  readonly example: string;
}

/** Letters and digits by kind, so that labels of one build are equal: `TS75C4-2` and `TS65A1-3` are `AA99A9-9`. */
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
