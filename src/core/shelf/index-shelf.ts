import { compareBuilds } from '../build/compare-builds.ts';
import { readBuild } from '../build/read-build.ts';
import { findPackages, indexPackages, type PackageIndex } from '../label/find-packages.ts';
import { readPackageName } from '../label/read-label.ts';
import type { Build } from '../model/build.ts';
import type { Family } from '../model/family.ts';
import type { LabelReading, PackageReading } from '../model/panel-identity.ts';
import { compareNames, compareText } from '../text/words.ts';
import type { ShelvedPackage } from './shelf-record.ts';

/** A shelved package and what the families read in its name. */
export interface ReadPackage {
  readonly shelved: ShelvedPackage;
  readonly package: PackageReading;
  readonly build: Build | undefined;
}

/** A shelf made ready for many questions. */
export interface ShelfIndex {
  readonly index: PackageIndex;
  readonly byReading: ReadonlyMap<PackageReading, ReadPackage>;
}

export function indexShelf(packages: readonly ShelvedPackage[], families: readonly Family[]): ShelfIndex {
  const read = packages.map((shelved) => {
    const named = readPackageName(shelved.record.name, families);
    return { shelved, package: named, build: buildOf(named) };
  });
  return {
    index: indexPackages(read.map((one) => one.package)),
    byReading: new Map(read.map((one) => [one.package, one])),
  };
}

/** The packages for exactly this label, and of those the newest; several where none is clearly newest. */
export function newestFor(
  label: LabelReading,
  { index, byReading }: ShelfIndex,
): { readonly fitting: readonly ReadPackage[]; readonly newest: readonly ReadPackage[] } {
  const fitting = findPackages(label, index).flatMap((one) => byReading.get(one) ?? []);
  return { fitting, newest: findNewest(fitting) };
}

/** The order in which they were added; of the same moment, by content, so that every desk sees the same order. */
export const byTimeAdded = (a: ShelvedPackage, b: ShelvedPackage): number =>
  compareMoments(a.record.addedAt, b.record.addedAt) || compareText(a.id, b.id);

/** Moments as this tool writes them stand in the order of their texts; a shelf of many packages is compared often. */
const compareMoments = (a: string, b: string): number =>
  ownForm.test(a) && ownForm.test(b) ? compareText(a, b) : Date.parse(a) - Date.parse(b);

const ownForm = /^\d{4}-\d\d-\d\dT\d\d:\d\d:\d\d\.\d{3}Z$/;

/**
 * By family, then by name, then by content; packages without a family come last. It is an order for the eye: which
 * build is newer only the family's scheme says (`findNewest`), and not always that.
 */
export const byFamilyAndName = (a: ShelvedPackage, b: ShelvedPackage): number =>
  Number(a.record.family === null) - Number(b.record.family === null) ||
  compareText(a.record.family ?? '', b.record.family ?? '') ||
  compareNames(a.record.name, b.record.name) ||
  compareText(a.record.sha256, b.record.sha256);

/**
 * One package for each content: two desks that add the same file at the same moment both put it there. The one that was
 * added first stands for all.
 */
export function withoutDoubles(packages: readonly ShelvedPackage[]): readonly ShelvedPackage[] {
  const first = new Map<string, ShelvedPackage>();
  for (const one of packages.toSorted(byTimeAdded)) {
    const key = JSON.stringify([one.record.sha256, one.record.name]);
    if (!first.has(key)) first.set(key, one);
  }
  return [...first.values()].toSorted(byFamilyAndName);
}

/**
 * The build of a package that one family reads; undefined where the name states none that the family's scheme reads.
 */
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
