import type { Conclusion } from '../checks/returned/conclude.ts';
import type { SortedEntry } from '../checks/returned/sort-contents.ts';
import type { Finding } from '../findings/finding.ts';
import type { Verdict } from '../findings/verdict.ts';
import type { Manifest } from '../model/manifest.ts';
import type { RecordOf } from '../model/round-record.ts';
import type { StickFacts } from '../model/stick-facts.ts';
import type { ClearingPlan } from '../plan/plan-clearing.ts';

/**
 * What became of clearing. `not-asked`: the plan says what it would do. `refused`: a finding forbids it, nothing was written.
 * `declined`: the person said no. `cleared`: all done; the stick can be prepared. `unfinished`: it was stopped in the middle; the
 * stick says not ready and the same command goes on.
 */
export type ClearingState = 'not-asked' | 'refused' | 'declined' | 'cleared' | 'unfinished';

/** Copies at the desk of what a panel left. */
export interface KeptLeft {
  readonly folder: string;
  readonly files: readonly { readonly path: string; readonly bytes: number; readonly sha256: string }[];
}

export interface ReturnedReport {
  readonly command: 'verify';
  readonly verdict: Verdict;
  readonly findings: readonly Finding[];
  readonly conclusion: Conclusion;
  /** As the record of a round says it. */
  readonly state: RecordOf<'returned'>['state'];
  /** Undefined where the volume could not be listed. */
  readonly stick: StickFacts;
  /** The manifest that the stick was last about, also where it is withdrawn. */
  readonly manifest: Manifest | undefined;
  readonly filesRead: number;
  readonly bytesRead: number;
  readonly sorted: readonly SortedEntry[];
  readonly clearing: {
    readonly state: ClearingState;
    /** Undefined where there is nothing to plan with. */
    readonly plan: ClearingPlan | undefined;
    /** What forbids it, or what is to be said of it. */
    readonly findings: readonly Finding[];
  };
  readonly kept: KeptLeft | undefined;
}
