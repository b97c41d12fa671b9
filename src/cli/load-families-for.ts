import type { Family } from '../core/model/family.ts';
import { findFamilyPlaces } from '../io/families/find-family-places.ts';
import { loadFamilies } from '../io/families/load-families.ts';

/** The families that a command works with, and whether the person named them. */
export async function loadFamiliesFor(
  named: readonly string[],
): Promise<{ families: readonly Family[]; familiesNamed: boolean }> {
  const { paths, from } = await findFamilyPlaces(named, process.env);
  return { families: await loadFamilies(paths), familiesNamed: from === 'named' };
}
