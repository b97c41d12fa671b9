import { readdir } from 'node:fs/promises';
import { basename, dirname, extname, join, resolve } from 'node:path';
import { startRecordFile } from './append-records.ts';
import { listRecords, mergeRecords } from './merge-records.ts';
import { readList, readPlan, writePlan } from './plan-file.ts';
import { keepPocket, listPockets } from './pocket-files.ts';
import type { RoundFolder } from './rounds.ts';

/**
 * The folder of a round, which need not be there yet: saving a plan makes it. `who` is the person at this desk; their
 * records go into a file of their own.
 */
export const openRound = (place: string, who: string): RoundFolder => ({
  place,
  plan: () => readPlan(place),
  list: () => readList(place),
  savePlan: (round, list) => writePlan(place, round, list),
  pockets: () => listPockets(place),
  keepPocket: (pocket) => keepPocket(place, pocket),
  ...openRecords(place, who),
});

/** The records of a round, of which each run of the program adds a file of its own. */
export const openRecords = (place: string, who: string): Pick<RoundFolder, 'records' | 'append' | 'merge'> => ({
  records: () => listRecords(place),
  append: startRecordFile(place, who),
  merge: (from) => mergeRecords(place, from),
});

/** Where a round's folder is, and who said so. */
type RoundPlace =
  | { readonly state: 'one'; readonly folder: string; readonly from: 'named' | 'environment' | 'list' | 'here' }
  /** Nobody said which, and the working folder has several. */
  | { readonly state: 'several'; readonly folders: readonly string[] }
  | { readonly state: 'none'; readonly lookedIn: string };

interface RoundQuestion {
  /** `--round`. */
  readonly named: string | undefined;
  /** The room list that is being planned. */
  readonly list?: string | undefined;
  readonly environment: Readonly<Record<string, string | undefined>>;
  readonly workingFolder: string;
}

const suffix = '.round';

/**
 * The folder that was named, else STICKWRIGHT_ROUND, else the one that belongs to the list (`rooms.csv` → `rooms.round`
 * beside it), else the only `*.round` folder of the working folder. It need not be there yet where somebody said which.
 */
export async function findRoundPlace({ named, list, environment, workingFolder }: RoundQuestion): Promise<RoundPlace> {
  const at = (path: string): string => resolve(workingFolder, path);
  if (named !== undefined) return { state: 'one', folder: at(named), from: 'named' };
  const listed = environment.STICKWRIGHT_ROUND ?? '';
  if (listed !== '') return { state: 'one', folder: at(listed), from: 'environment' };
  if (list !== undefined) {
    const stem = basename(list, extname(list));
    return { state: 'one', folder: join(dirname(at(list)), `${stem}${suffix}`), from: 'list' };
  }
  const entries = await readdir(workingFolder, { withFileTypes: true }).catch(() => []);
  const folders = entries.filter((entry) => entry.isDirectory() && entry.name.endsWith(suffix)).map(({ name }) => name);
  const [only, ...others] = folders.toSorted();
  if (only === undefined) return { state: 'none', lookedIn: workingFolder };
  if (others.length > 0) return { state: 'several', folders: [only, ...others] };
  return { state: 'one', folder: at(only), from: 'here' };
}
