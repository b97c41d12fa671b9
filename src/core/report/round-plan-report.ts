import type { Finding } from '../findings/finding.ts';
import type { Verdict } from '../findings/verdict.ts';
import type { RoomState, Round } from '../model/round.ts';
import type { MinutesFrom } from '../rounds/plan/estimate-minutes.ts';

export interface RoundPlanReport {
  readonly command: 'round plan';
  /** Of the rooms and of the list: not ready where a room is stopped or a row was left out, unproven where one cannot be told. */
  readonly verdict: Verdict;
  /** About the list, the shelf and the packages; what is to be said of a room is with that room. */
  readonly findings: readonly Finding[];
  /** Undefined where no room could be read. */
  readonly round: Round | undefined;
  readonly counts: Readonly<Record<RoomState, number>>;
  /** Where the minutes at the panels are known from, by load. */
  readonly minutesFrom: ReadonlyMap<string, MinutesFrom>;
  /** First come, first served would take so long; undefined where nobody said how many sticks there are. */
  readonly firstComeMinutes: number | undefined;
  /** The folder of the round. */
  readonly place: string;
  /** false: a dry run, or nothing to keep. */
  readonly kept: boolean;
}
