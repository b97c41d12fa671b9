import { randomUUID } from 'node:crypto';
import type { Family } from '../core/model/family.ts';
import type { RoundFolder } from '../io/rounds/rounds.ts';
import type { Ports } from '../workflows/ports.ts';
import type { RoundDesk } from '../workflows/round-desk.ts';
import { UsageError } from './frame/exit-codes.ts';
import { remark } from './frame/screen.ts';

// What lies on a desk, each loaded when a command reaches for it.

/** What a word names to be read: a file, or `-` for what comes on standard input. */
export const fileNamed = async (path: string): Promise<string> =>
  path === '-' ? (await import('../io/files/standard-input.ts')).fileFrom(path) : path;

export const portsOfDesk = async (): Promise<Ports> => (await import('./make-ports.ts')).makePorts();

/** The families that a command works with, whether the person named them, and the desk's rule on hashes. */
export async function familiesFor(
  named: readonly string[],
): Promise<{ families: readonly Family[]; familiesNamed: boolean; hashAlways: boolean }> {
  const { findFamilyPlaces, loadFamilies } = await import('../io/families/load-families.ts');
  const { expandPatterns } = await import('../io/files/expand-patterns.ts');
  const files = await Promise.all(named.map(fileNamed));
  const { paths, from } = await findFamilyPlaces(await expandPatterns(files), process.env);
  remark(`families: ${paths.join(', ') || 'none'} (${from})`);
  const hashAlways = process.env.STICKWRIGHT_PUBLISHED_HASH === 'always';
  return { families: await loadFamilies(paths), familiesNamed: from === 'named', hashAlways };
}

/** Where a new family is written so that it is found: the desk's first folder of families, else the user's own. */
export async function familyFolderOfDesk(): Promise<string> {
  const { stat } = await import('node:fs/promises');
  const { findFamilyPlaces, userFamilyFolder } = await import('../io/families/load-families.ts');
  const { paths } = await findFamilyPlaces([], process.env);
  for (const path of paths) if ((await stat(path).catch(() => undefined))?.isDirectory()) return path;
  return userFamilyFolder();
}

export async function signersFor(named: readonly string[]): Promise<readonly Uint8Array[]> {
  const { readSigners } = await import('../io/update-package/read-signers.ts');
  return (await Promise.all(named.map(async (path) => await readSigners(await fileNamed(path))))).flat();
}

export async function shelfFor(named: string | undefined, { make } = { make: false }) {
  const { findShelfPlace } = await import('../io/shelf/shelf-folder.ts');
  const { openShelf } = await import('../io/shelf/open-shelf.ts');
  const place = findShelfPlace(named, process.env);
  remark(`shelf: ${place.folder} (${place.from})`);
  return await openShelf(place, { make });
}

export interface RoundChoice {
  /** `--round DIR`. */
  readonly round?: string | undefined;
  /** `--who NAME`: whose records this desk writes. */
  readonly who?: string | undefined;
  /** The room list that is being planned. */
  readonly list?: string | undefined;
}

/**
 * The folder that a command of the round works with: `--round`, STICKWRIGHT_ROUND, beside the list, or the only one
 * here.
 */
export async function roundFolderFor({ round, who, list }: RoundChoice): Promise<RoundFolder> {
  const { findRoundPlace, openRound } = await import('../io/rounds/open-round.ts');
  const question = { named: round, list, environment: process.env, workingFolder: process.cwd() };
  const place = await findRoundPlace(question);
  switch (place.state) {
    case 'one':
      remark(`round: ${place.folder} (${place.from})`);
      return openRound(place.folder, whoIs(who));
    case 'several':
      throw new UsageError(
        `There are several rounds here: ${place.folders.join(', ')}.`,
        `Say which one: --round ${place.folders[0]}, or set STICKWRIGHT_ROUND.`,
      );
    case 'none':
      throw new UsageError(
        `There is no round in ${place.lookedIn}.`,
        'Name its folder with --round, or plan one first: stickwright round plan with the room list.',
      );
  }
}

/** What the commands on a round's records work with. */
export async function roundDeskFor(choice: RoundChoice): Promise<RoundDesk> {
  const { now, digesting } = await portsOfDesk();
  return {
    folder: await roundFolderFor(choice),
    families: async (named) => (await familiesFor(named)).families,
    sha256: digesting.sha256,
    now,
    newId: randomUUID,
  };
}

/** Who is at this desk: as said, else STICKWRIGHT_WHO, else the name the person is logged in with. */
export function whoIs(said: string | undefined, environment: NodeJS.ProcessEnv = process.env): string {
  const names = [said, environment.STICKWRIGHT_WHO, environment.USER, environment.LOGNAME, environment.USERNAME];
  return names.map((name) => name?.trim()).find((name) => name !== undefined && name !== '') ?? 'unknown';
}
