import type { Family } from '../model/family.ts';
import type { LabelReading, PackageReading, Parts } from '../model/panel-identity.ts';
import { normaliseLabel } from '../text/label-text.ts';
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

const buildPart = 'build';

/**
 * Reads a package's file name with every family's grammars. Within a family the first grammar that reads it counts.
 * The name is compared as it is but for the Unicode form: a space or a dash more is another name.
 */
export function readPackageName(fileName: string, families: readonly Family[]): PackageReading {
  const text = fileName.normalize('NFC');
  return { fileName, readings: families.flatMap((family) => readWithin(text, family)) };
}

function readWithin(text: string, family: Family): PackageReading['readings'] {
  for (const grammar of family.packages) {
    const reading = readWithGrammar(text, grammar);
    if (reading.parts !== undefined) {
      const [start, end] = reading.spans[buildPart] ?? [];
      const build = start === undefined ? undefined : text.slice(start, end);
      return [{ family, parts: without(reading.parts, buildPart), build, agree: grammar.agree }];
    }
  }
  return [];
}

const without = (parts: Parts, name: string): Parts =>
  Object.fromEntries(Object.entries(parts).filter(([part]) => part !== name));
