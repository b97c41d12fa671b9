import { findRoundPlace, openRound } from '../io/rounds/open-round.ts';
import type { RoundFolder } from '../io/rounds/rounds.ts';
import { UsageError } from './usage-error.ts';

export interface RoundChoice {
  /** `--round DIR`. */
  readonly round?: string | undefined;
  /** `--who NAME`: whose records this desk writes. */
  readonly who?: string | undefined;
  /** The room list that is being planned. */
  readonly list?: string | undefined;
}

/** The folder that a command of the round works with: `--round`, STICKWRIGHT_ROUND, beside the list, or the only one here. */
export async function roundFolderFor({ round, who, list }: RoundChoice): Promise<RoundFolder> {
  const question = { named: round, list, environment: process.env, workingFolder: process.cwd() };
  const place = await findRoundPlace(question);
  switch (place.state) {
    case 'one':
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

/** Who is at this desk: as said, else STICKWRIGHT_WHO, else the name the person is logged in with. */
export function whoIs(said: string | undefined, environment: NodeJS.ProcessEnv = process.env): string {
  const names = [said, environment.STICKWRIGHT_WHO, environment.USER, environment.LOGNAME, environment.USERNAME];
  return names.map((name) => name?.trim()).find((name) => name !== undefined && name !== '') ?? 'unknown';
}
