import type { Numeral } from '../model/build.ts';

export const toNumeral = (digits: string): Numeral => digits.replace(/^0+(?=\d)/, '');

/** Below zero where `a` is the smaller number; of any length. */
export function compareNumerals(a: Numeral, b: Numeral): number {
  return a.length - b.length || compareText(a, b);
}

/** By code unit, as ASCII sort order is. */
export function compareText(a: string, b: string): number {
  if (a === b) return 0;
  return a < b ? -1 : 1;
}
