import type { Build, BuildOrder, TimeSpan } from '../model/build.ts';
import { compareVersions } from './compare-versions.ts';
import { compareNumerals, compareText } from './numeral.ts';

/**
 * What `a` is beside `b`, within one scheme: a strict partial order ("newer" is transitive and never both ways), and "same"
 * only where nothing tells them apart.
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
