import type { Finding, Verdict } from '../findings/finding.ts';
import type { RoomState, Round } from '../model/round.ts';
import type { RoundRecord } from '../model/round-record.ts';
import type { ToolError } from '../model/tool-error.ts';
import type { MinutesFrom } from '../rounds/plan/usual-practice.ts';
import type { Preparation } from '../rounds/prepare/list-preparations.ts';
import type { Ladder } from '../rounds/records/failure-ladder.ts';
import type { RoomStatus, RoundStatus } from '../rounds/records/round-status.ts';
import type { PrepareReport } from './reports.ts';

export interface RoundPlanReport {
  readonly command: 'round plan';
  /**
   * Of the rooms and of the list: not ready where a room is stopped or a row was left out, unproven where one cannot be
   * told.
   */
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

/** What became of one preparation of a round. `stopped`: a finding of the round kept the stick or the load out. */
export interface PreparedStick {
  readonly preparation: Preparation;
  readonly target: string;
  readonly verdict: Verdict;
  /** Of the round; those of the preparation are in its report. */
  readonly findings: readonly Finding[];
  /** Code for the tag, where it was written and recorded. */
  readonly code: string | undefined;
  readonly report: PrepareReport | undefined;
  readonly error: ToolError | undefined;
}

export interface RoundPrepareReport {
  readonly command: 'round prepare';
  readonly verdict: Verdict;
  readonly findings: readonly Finding[];
  readonly place: string;
  readonly dryRun: boolean;
  readonly sticks: readonly PreparedStick[];
  /** What is still to be made after this run. */
  readonly left: readonly Preparation[];
  /** Sticks still to be made of loads that were not asked for. */
  readonly ofOtherLoads: number;
  readonly interrupted: boolean;
}

/** What was printed of a round. */
export interface RoundCardsReport {
  readonly command: 'round cards';
  readonly verdict: Verdict;
  readonly findings: readonly Finding[];
  readonly paper: 'a5' | 'a6';
  /** Folder of the files. */
  readonly place: string;
  /** Names of the files there, as they were written. */
  readonly files: readonly string[];
  /** Earlier prints that were taken away, because they would say something else now. */
  readonly dropped: readonly string[];
  readonly cards: number;
  readonly pages: number;
  readonly tags: number;
  /** Keys of rooms that were asked for and take no stick, with their state. */
  readonly without: readonly { readonly room: string; readonly state: string }[];
}

interface Judged {
  /** Of what was asked for, not of the panel: `ready` where all was kept and nothing is doubtful. */
  readonly verdict: Verdict;
  readonly findings: readonly Finding[];
  /** The folder of the round. */
  readonly place: string;
}

export interface RoundRecordReport extends Judged {
  readonly command: 'round record';
  /** What was kept just now. */
  readonly recorded: readonly RoundRecord[];
  /** The rooms of these records, as they stand now. */
  readonly rooms: readonly RoomStatus[];
  /** The next step for a room that failed; only where one room was recorded. */
  readonly ladder: Ladder | undefined;
}

export interface RoundPocketReport extends Judged {
  readonly command: 'round pocket';
  /** Id of the file, which its lines carry. */
  readonly pocket: string;
  readonly who: string;
  /** Keys of its rooms, in walking order. */
  readonly rooms: readonly string[];
  readonly file: string;
  readonly bytes: number;
}

export interface RoundMergeReport extends Judged {
  readonly command: 'round merge';
  readonly merged: readonly { readonly from: string; readonly added: number; readonly known: number }[];
}

export interface RoundStatusReport extends Judged {
  readonly command: 'round status';
  readonly status: RoundStatus;
}

export interface RoundLadderReport extends Judged {
  readonly command: 'round ladder';
  /** Undefined where no room was found. */
  readonly room: RoomStatus | undefined;
  readonly ladder: Ladder | undefined;
}

export interface RoundExportReport extends Judged {
  readonly command: 'round export';
  readonly status: RoundStatus;
  /** What was written, and where; `-` is standard output. */
  readonly written: readonly { readonly kind: 'csv' | 'report'; readonly path: string; readonly bytes: number }[];
}
