import { findPackages, indexPackages, type PackageIndex } from '../label/find-packages.ts';
import { readPackageName } from '../label/read-package-name.ts';
import type { Build } from '../model/build.ts';
import type { Family } from '../model/family.ts';
import type { LabelReading, PackageReading } from '../model/panel-identity.ts';
import { buildOf, findNewest } from './find-newest.ts';
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
