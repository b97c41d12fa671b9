import { readPackageName } from '../label/read-package-name.ts';
import type { Family } from '../model/family.ts';

/** The one family that reads a package's name; undefined where none or several do. */
export function familyOfPackage(name: string, families: readonly Family[]): Family | undefined {
  const known = answers.get(families) ?? new Map<string, Family | undefined>();
  answers.set(families, known);
  if (known.has(name)) return known.get(name);
  const [reading, ...others] = readPackageName(name, families).readings;
  const family = others.length === 0 ? reading?.family : undefined;
  known.set(name, family);
  return family;
}

/** A shelf is compared package with package; each name is read once. */
const answers = new WeakMap<readonly Family[], Map<string, Family | undefined>>();

/** The family's short name by the family files at hand; what was true when it was added where none reads it now. */
export function familyNameOf(record: { name: string; family: string | null }, families: readonly Family[]) {
  return familyOfPackage(record.name, families)?.family ?? record.family ?? undefined;
}
