import picomatch from 'picomatch';
import type { Family } from '../model/family.ts';

/** Tells paths that some family wants at the root of a recovery stick from all others. */
export function recoveryFileTest(families: readonly Family[]): (path: string) => boolean {
  const patterns = families.flatMap(({ modes }) => modes.recovery?.['required-at-root'] ?? []);
  return patterns.length === 0 ? () => false : picomatch(patterns, { nocase: true, dot: true });
}
