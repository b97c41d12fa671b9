import { readdir } from 'node:fs/promises';
import { delimiter, join } from 'node:path';
import envPaths from 'env-paths';

/** Where families come from, and who said so: the person, the environment, the user's own folder, or nobody. */
export interface FamilyPlaces {
  readonly paths: readonly string[];
  readonly from: 'named' | 'environment' | 'user' | 'none';
}

export const familyFilePattern = /\.ya?ml$/i;

/** The desk's own family folder: XDG config folder, %APPDATA%, ~/Library/Preferences. */
export const userFamilyFolder = (): string => join(envPaths('stickwright', { suffix: '' }).config, 'families');

/**
 * Files or folders to load families from: those named, else STICKWRIGHT_FAMILIES (several are separated as in PATH), else
 * the user's own folder where it holds a family file.
 */
export async function findFamilyPlaces(
  named: readonly string[],
  environment: Readonly<Record<string, string | undefined>>,
  userFolder: string = userFamilyFolder(),
): Promise<FamilyPlaces> {
  if (named.length > 0) return { paths: named, from: 'named' };
  const listed = (environment.STICKWRIGHT_FAMILIES ?? '').split(delimiter).filter((path) => path !== '');
  if (listed.length > 0) return { paths: listed, from: 'environment' };
  const names = await readdir(userFolder).catch(() => []);
  if (names.some((name) => familyFilePattern.test(name))) return { paths: [userFolder], from: 'user' };
  return { paths: [], from: 'none' };
}
