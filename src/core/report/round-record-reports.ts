import type { Finding } from '../findings/finding.ts';
import type { Verdict } from '../findings/verdict.ts';
import type { RoundRecord } from '../model/round-record.ts';
import type { Ladder } from '../rounds/records/failure-ladder.ts';
import type { RoomStatus, RoundStatus } from '../rounds/records/round-status.ts';

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
