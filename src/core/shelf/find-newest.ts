import { compareBuilds } from '../build/compare-builds.ts';
import { readBuild } from '../build/read-build.ts';
import type { Build } from '../model/build.ts';
import type { PackageReading } from '../model/panel-identity.ts';

/** The build of a package that one family reads; undefined where the name states none that the family's scheme reads. */
export function buildOf({ readings: [reading] }: PackageReading): Build | undefined {
  return reading?.build === undefined ? undefined : readBuild(reading.build, reading.family.build).build;
}

/**
 * The one package that is newer than all the others; where there is no such one, those that none of the others is newer
 * than, in their order. Builds are a partial order: an undated package or one of another kind leaves it open.
 */
export function findNewest<P extends { readonly build: Build | undefined }>(packages: readonly P[]): readonly P[] {
  let best = packages[0];
  for (const other of packages) if (isNewer(other, best)) best = other;
  const rivals = packages.filter((other) => other !== best && !isNewer(best, other));
  if (rivals.length === 0) return best === undefined ? [] : [best];
  return packages.filter((one) => !packages.some((other) => isNewer(other, one)));
}

function isNewer(a: { build: Build | undefined } | undefined, b: { build: Build | undefined } | undefined): boolean {
  return a?.build !== undefined && b?.build !== undefined && compareBuilds(a.build, b.build) === 'newer';
}
