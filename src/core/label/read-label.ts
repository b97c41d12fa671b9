import type { Family } from '../model/family.ts';
import type { LabelReading } from '../model/panel-identity.ts';
import { normaliseLabel } from './normalise-label.ts';
import { readWithGrammar } from './read-with-grammar.ts';

/** Reads a label with every family's grammar; none or several readings are for the caller to report. */
export function readLabel(text: string, families: readonly Family[]): LabelReading {
  const normalised = normaliseLabel(text);
  return {
    text,
    normalised,
    readings: families.flatMap((family) => {
      const { parts } = readWithGrammar(normalised, family.label);
      return parts === undefined ? [] : [{ family, parts }];
    }),
  };
}
