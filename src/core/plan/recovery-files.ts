import picomatch from 'picomatch';
import { readPackageName } from '../label/read-package-name.ts';
import type { Family } from '../model/family.ts';
import { type FirmwareNames, holdsAll } from './firmware-signs.ts';

/** True for paths, relative to the stick's root, that one of the patterns matches; case does not count on FAT. */
export const globTest = (patterns: readonly string[]): ((path: string) => boolean) =>
  patterns.length === 0 ? () => false : picomatch([...patterns], { nocase: true, dot: true });

/** Tells paths that some family wants at the root of a recovery stick from all others. */
const recoveryFileTest = (families: readonly Family[]): ((path: string) => boolean) =>
  globTest(families.flatMap(({ modes }) => modes.recovery?.['required-at-root'] ?? []));

/** True where all that one of the families wants for a recovery is among the paths, in whatever folder. */
function recoveryTreeTest(families: readonly Family[]): (paths: readonly string[]) => boolean {
  const wanted = families.map(({ modes }) =>
    (modes.recovery?.['required-at-root'] ?? []).map((one) => globTest([one])),
  );
  return (paths) => wanted.some((tests) => holdsAll(paths, tests));
}

/** What the families say of the names that firmware has. */
export const namesOfFamilies = (families: readonly Family[]): FirmwareNames => ({
  isPackageName: (name) => readPackageName(name, families).readings.length > 0,
  isRecoveryFile: recoveryFileTest(families),
  isRecoveryTree: recoveryTreeTest(families),
});
