import type { FamilyFile } from '../../core/checks/fit/check-families.ts';
import { readTextFile } from '../files/regular-file.ts';
import { findFamilyPlaces, readFamilyFiles } from './load-families.ts';
import { parseFamily, withValueAt } from './parse-family.ts';
import { changeFamilyFile, writeFamilyFile } from './write-family-file.ts';

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

/** Family files that are there, as a workflow changes one. */
export const familyFiles = {
  textOf: readTextFile,
  withValueAt,
  read: (source: string, text: string): FamilyFile => parseFamily(source, Buffer.from(text)),
  change: changeFamilyFile,
};
