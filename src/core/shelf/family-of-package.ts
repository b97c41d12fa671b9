import { readPackageName } from '../label/read-package-name.ts';
import type { Family } from '../model/family.ts';

/** The one family that reads a package's name; undefined where none or several do. */
export function familyOfPackage(name: string, families: readonly Family[]): Family | undefined {
  const [reading, ...others] = readPackageName(name, families).readings;
  return others.length === 0 ? reading?.family : undefined;
}

/** The family's short name by the family files at hand; what was true when it was added where none reads it now. */
export function familyNameOf(record: { name: string; family: string | null }, families: readonly Family[]) {
  return familyOfPackage(record.name, families)?.family ?? record.family ?? undefined;
}
