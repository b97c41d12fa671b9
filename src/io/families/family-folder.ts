import type { FamilyFile } from '../../core/checks/fit/check-families.ts';
import { findFamilyPlaces, readFamilyFiles } from './load-families.ts';
import { parseFamily } from './parse-family.ts';
import { writeFamilyFile } from './write-family-file.ts';

/** The families of a folder; one that is missing or holds none yet has none. */
export async function familiesIn(folder: string): Promise<readonly FamilyFile[]> {
  const { paths } = await findFamilyPlaces([folder], {});
  return await readFamilyFiles(paths).catch(() => []);
}

/** A folder of families as a workflow writes into it. */
export const familyFolder = (folder: string) => ({
  read: (family: string, text: string): FamilyFile => parseFamily(`${family}.yaml`, Buffer.from(text)),
  list: () => familiesIn(folder),
  write: (family: string, text: string): Promise<string> => writeFamilyFile(folder, family, text),
});
