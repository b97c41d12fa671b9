import type { Family } from '../../../src/core/model/family.ts';
import { loadFamilies } from '../../../src/io/families/load-families.ts';

/** The sample families, as a desk loads them. */
export const sampleFamilies = (): Promise<readonly Family[]> => loadFamilies(['samples/families']);

export function familyNamed(families: readonly Family[], name: string): Family {
  const found = families.find(({ family }) => family === name);
  if (found === undefined) throw new Error(`no sample family ${name}`);
  return found;
}
