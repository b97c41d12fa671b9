import { join, resolve } from 'node:path';
import envPaths from 'env-paths';

export interface ShelfPlace {
  readonly folder: string;
  readonly from: 'named' | 'environment' | 'user';
}

/** The desk's own shelf: the XDG data folder, %LOCALAPPDATA%, ~/Library/Application Support. */
export const userShelfFolder = (): string => join(envPaths('stickwright', { suffix: '' }).data, 'shelf');

/** Where the shelf is: as named, else STICKWRIGHT_SHELF, else the user's own. */
export function findShelfPlace(
  named: string | undefined,
  environment: Readonly<Record<string, string | undefined>>,
): ShelfPlace {
  if (named !== undefined) return { folder: resolve(named), from: 'named' };
  const listed = environment.STICKWRIGHT_SHELF ?? '';
  if (listed !== '') return { folder: resolve(listed), from: 'environment' };
  return { folder: userShelfFolder(), from: 'user' };
}
