import type { Build, BuildOrder, TimeSpan, Version } from '../model/build.ts';
import { compareNumerals, compareText } from '../text/words.ts';

/**
 * What `a` is beside `b`, within one scheme: a strict partial order ("newer" is transitive and never both ways), and
 * "same" only where nothing tells them apart.
 */
export function compareBuilds(a: Build, b: Build): BuildOrder {
  if (a.scheme === 'date' && b.scheme === 'date') return fromOrder(compareDates(a, b));
  if (a.scheme === 'version' && b.scheme === 'version') return fromOrder(compareVersions(a.version, b.version));
  if (a.scheme === 'counter' && b.scheme === 'counter') {
    return a.prefix === b.prefix ? fromOrder(compareNumerals(a.count, b.count)) : 'cannot-order';
  }
  if (a.scheme === 'letters' && b.scheme === 'letters') return fromOrder(compareLetters(a, b));
  if (a.scheme === 'version-date' && b.scheme === 'version-date') {
    return fromOrder(both(compareVersions(a.version, b.version), compareDates(a, b)));
  }
  return 'cannot-order';
}

const fromOrder = (order: number | undefined): BuildOrder => {
  if (order === undefined) return 'cannot-order';
  if (order === 0) return 'same';
  return order > 0 ? 'newer' : 'older';
};

interface Dated {
  readonly span: TimeSpan;
  readonly readings: readonly string[];
}

/** Later only where every moment of the one is after every moment of the other; the same day said twice is the same. */
function compareDates(a: Dated, b: Dated): number | undefined {
  if (a.span.earliest > b.span.latest) return 1;
  if (a.span.latest < b.span.earliest) return -1;
  return a.readings.join() === b.readings.join() ? 0 : undefined;
}

/** Revision letters run A … Z, AA, AB …: a longer run is later (common practice, no source). */
function compareLetters(a: Build & { scheme: 'letters' }, b: Build & { scheme: 'letters' }): number {
  return a.letters.length - b.letters.length || compareText(a.letters, b.letters) || compareNumerals(a.count, b.count);
}

/** Two orders that must not contradict each other: one may be silent (equal), but not undecided. */
export function both(first: number | undefined, second: number | undefined): number | undefined {
  if (first === undefined || second === undefined) return undefined;
  if (first === 0 || second === 0) return first || second;
  return Math.sign(first) === Math.sign(second) ? first : undefined;
}

/**
 * Precedence of SemVer 2.0.0 section 11, over as many numbers as there are; one that is missing counts as 0. Undefined
 * where it does not order them although they differ: metadata, or pre-release words that differ only in case or whose
 * order hangs on case.
 */
function compareVersions(a: Version, b: Version): number | undefined {
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
