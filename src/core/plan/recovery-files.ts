import picomatch from 'picomatch';
import type { Family } from '../model/family.ts';

/** True for paths, relative to the stick's root, that one of the patterns matches; case does not count on FAT. */
export const globTest = (patterns: readonly string[]): ((path: string) => boolean) =>
  patterns.length === 0 ? () => false : picomatch([...patterns], { nocase: true, dot: true });

/** Tells paths that some family wants at the root of a recovery stick from all others. */
export const recoveryFileTest = (families: readonly Family[]): ((path: string) => boolean) =>
  globTest(families.flatMap(({ modes }) => modes.recovery?.['required-at-root'] ?? []));
