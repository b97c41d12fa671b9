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
export function findNewest<P extends { readonly package: PackageReading }>(packages: readonly P[]): readonly P[] {
  if (packages.length < 2) return packages;
  const built = packages.map((one) => ({ one, build: buildOf(one.package) }));
  let best = built[0];
  for (const other of built) if (best !== undefined && isNewer(other.build, best.build)) best = other;
  const rivals = built.filter((other) => other !== best && !isNewer(best?.build, other.build));
  if (rivals.length === 0) return best === undefined ? [] : [best.one];
  return built.filter(({ build }) => !built.some((other) => isNewer(other.build, build))).map(({ one }) => one);
}

const isNewer = (a: Build | undefined, b: Build | undefined): boolean =>
  a !== undefined && b !== undefined && compareBuilds(a, b) === 'newer';
