import { readAnew, type Widening, widenPattern } from '../../label/widen-pattern.ts';
import type { Family } from '../../model/family.ts';
import { normaliseLabel } from '../../text/label-text.ts';

/** A place in a family file where only the number of digits keeps a text from being read. */
export interface WideningPlace extends Widening {
  readonly family: Family;
  readonly path: readonly (string | number)[];
  /** Of the pattern in its file; undefined where nobody knows. */
  readonly line: number | undefined;
  readonly before: string;
  /** Some texts that would be read from then on and are not now. */
  readonly alsoRead: readonly string[];
}

/** Where a label would be read but for the number of its digits. */
export const widenForLabel = (text: string, families: readonly Family[]): readonly WideningPlace[] =>
  families.flatMap((family) =>
    placeIn(family, normaliseLabel(text), family.label, ['label', 'pattern'], family.lines?.label),
  );

/** The same for a package's name. */
export const widenForPackage = (name: string, families: readonly Family[]): readonly WideningPlace[] =>
  families.flatMap((family) =>
    family.packages.flatMap((grammar, at) =>
      placeIn(family, name.normalize('NFC'), grammar, ['packages', at, 'pattern'], family.lines?.packages[at]),
    ),
  );

type LabelOrPackage = Family['label'] | Family['packages'][number];

function placeIn(
  family: Family,
  text: string,
  grammar: LabelOrPackage,
  path: WideningPlace['path'],
  line: number | undefined,
): readonly WideningPlace[] {
  const widening = widenPattern(text, grammar);
  if (widening === undefined) return [];
  const examples = grammar.examples.map((example) => example.text);
  const alsoRead = readAnew([...examples, text], grammar, { ...grammar, pattern: widening.pattern }).filter(
    (one) => one !== text,
  );
  return [{ ...widening, family, path, line, before: grammar.pattern, alsoRead }];
}

/** `the size has 3 digits, where the file takes 2`. */
export const changesInWords = ({ changes }: Widening): string =>
  changes
    .map(
      ({ part, has, takes }) =>
        `${part === undefined ? 'a number' : `the ${part}`} has ${has} digits, where the file takes ${takes}`,
    )
    .join('; ');

/** `families/sedge.yaml:9`. */
export const placeInWords = ({ family, line }: Pick<WideningPlace, 'family' | 'line'>): string =>
  line === undefined ? family.source : `${family.source}:${line}`;
