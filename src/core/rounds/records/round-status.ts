import type { Finding, Verdict } from '../../findings/finding.ts';
import type { Load, Round, RoundRoom } from '../../model/round.ts';
import type { RoundRecord, RoundRecordOf } from '../../model/round-record.ts';
import type { VisitReading } from './read-visit.ts';

export const roomProgress = [
  'done',
  'under-way',
  'unclear',
  'failed',
  'skipped',
  'prepared',
  'open',
  'over-the-air',
  'held',
  'up-to-date',
] as const;

/**
 * How far a room is. `under-way`: a build on the way was reached. `unclear`: somebody was there, and what was noted
 * does not prove the target. `prepared`: its stick is. `over-the-air`: it updates itself, and is due to be looked at.
 * `held`: the plan stopped it. `up-to-date`: there was nothing to do.
 */
export type RoomProgress = (typeof roomProgress)[number];

export interface RoomStatus {
  readonly room: RoundRoom;
  readonly family: string | undefined;
  readonly progress: RoomProgress;
  /** Those that count, in the order of time. */
  readonly visits: readonly VisitReading[];
  readonly last: VisitReading | undefined;
  /** Visits that failed, in all. */
  readonly failures: number;
  /** Those that failed since a build was last reached, by the way that the plan has: the tries of what is due. */
  readonly tries: readonly VisitReading[];
  /** Its own update failed, since a build was last reached. */
  readonly airFailures: readonly VisitReading[];
  readonly wiped: boolean;
  readonly approval: string | null;
  /** The newest build that somebody read and that is on the plan's way; null where nobody did. */
  readonly reached: string | null;
  /** What is due next; undefined where nothing is left. */
  readonly next: { readonly build: string; readonly load: Load; readonly number: number } | undefined;
  /** Codes of the sticks that carry what is due next, the latest first. */
  readonly sticks: readonly string[];
  /** The last visit and one so close before it by somebody else that both cannot be right. */
  readonly disagreement: readonly [VisitReading, VisitReading] | undefined;
}

const stickStates = ['ready', 'was-out', 'returned', 'cleared', 'unknown'] as const;

/** `was-out`: it was at a panel and did not come back yet. `unknown`: nobody noted that it was prepared. */
export type StickState = (typeof stickStates)[number];

export interface StickStatus {
  readonly code: string;
  readonly state: StickState;
  readonly prepared: RoundRecordOf<'prepared'> | undefined;
  /** Codes of what was not proven when it was prepared. */
  readonly unproven: readonly string[];
  /** The load of today's plan that it carries; undefined where the plan has none such. */
  readonly load: Load | undefined;
  readonly visits: readonly { readonly room: string; readonly reading: VisitReading }[];
  readonly returned: RoundRecordOf<'returned'> | undefined;
  readonly failures: number;
}

/** Something that failed more than once. */
export interface Repeat {
  readonly by: 'variant' | 'stick' | 'package';
  readonly name: string;
  readonly failures: number;
  /** All tries of it, those that failed among them. */
  readonly tries: number;
  /** Keys of the rooms where it failed. */
  readonly rooms: readonly string[];
  /** What panels said, each text once. */
  readonly texts: readonly string[];
}

export interface RoundStatus {
  readonly round: Round;
  readonly rooms: readonly RoomStatus[];
  readonly counts: Readonly<Record<RoomProgress, number>>;
  readonly sticks: readonly StickStatus[];
  readonly repeats: readonly Repeat[];
  /** Records that count. */
  readonly records: readonly RoundRecord[];
  /** Records of rooms that this plan does not have. */
  readonly strays: readonly RoundRecord[];
  readonly findings: readonly Finding[];
}

/** Not ready while a room is left to do; unproven where it is only not clear whether all are done. */
export function roundVerdict({ counts }: RoundStatus, ofFindings: Verdict): Verdict {
  const left =
    counts.open + counts.prepared + counts['under-way'] + counts.failed + counts.skipped + counts['over-the-air'];
  if (left > 0) return 'not-ready';
  return counts.unclear > 0 && ofFindings === 'ready' ? 'unproven' : ofFindings;
}
