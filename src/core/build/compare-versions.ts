import type { Version } from '../model/build.ts';
import { compareNumerals, compareText } from './numeral.ts';

/**
 * Precedence of SemVer 2.0.0 section 11, over as many numbers as there are; one that is missing counts as 0. Undefined where
 * it does not order them although they differ: metadata, or pre-release words that differ only in case or whose order
 * hangs on case.
 */
export function compareVersions(a: Version, b: Version): number | undefined {
  const numbers = compareNumbers(a.numbers, b.numbers);
  if (numbers !== 0) return numbers;
  const exact = comparePreRelease(a.preRelease, b.preRelease);
  const anyCase = comparePreRelease(upper(a.preRelease), upper(b.preRelease));
  if (Math.sign(exact) !== Math.sign(anyCase)) return undefined;
  if (exact !== 0) return exact;
  return a.metadata === b.metadata ? 0 : undefined;
}

const upper = (identifiers: readonly string[]): readonly string[] => identifiers.map((one) => one.toUpperCase());

function compareNumbers(a: readonly string[], b: readonly string[]): number {
  const length = Math.max(a.length, b.length);
  for (let at = 0; at < length; at++) {
    const order = compareNumerals(a[at] ?? '0', b[at] ?? '0');
    if (order !== 0) return order;
  }
  return 0;
}

/** SemVer 2.0.0 section 11.3 and 11.4: a release is above its pre-releases; then identifier by identifier. */
function comparePreRelease(a: readonly string[], b: readonly string[]): number {
  if (a.length === 0 || b.length === 0) return b.length - a.length;
  for (const [at, one] of a.entries()) {
    const other = b[at];
    if (other === undefined) return 1;
    const order = compareIdentifiers(one, other);
    if (order !== 0) return order;
  }
  return a.length - b.length;
}

const isNumeric = (identifier: string): boolean => /^\d+$/.test(identifier);

function compareIdentifiers(a: string, b: string): number {
  if (isNumeric(a) && isNumeric(b)) return compareNumerals(a.replace(/^0+(?=\d)/, ''), b.replace(/^0+(?=\d)/, ''));
  if (isNumeric(a) !== isNumeric(b)) return isNumeric(a) ? -1 : 1;
  return compareText(a, b);
}
