import type { Family } from '../core/model/family.ts';
import { findFamilyPlaces, loadFamilies } from '../io/families/load-families.ts';
import { expandPatterns } from '../io/files/expand-patterns.ts';

/** The families that a command works with, and whether the person named them. */
export async function loadFamiliesFor(
  named: readonly string[],
): Promise<{ families: readonly Family[]; familiesNamed: boolean }> {
  const { paths, from } = await findFamilyPlaces(await expandPatterns(named), process.env);
  return { families: await loadFamilies(paths), familiesNamed: from === 'named' };
}
