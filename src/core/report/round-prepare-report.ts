import type { Finding } from '../findings/finding.ts';
import type { Verdict } from '../findings/verdict.ts';
import type { ToolError } from '../model/tool-error.ts';
import type { Preparation } from '../rounds/prepare/list-preparations.ts';
import type { PrepareReport } from './reports.ts';

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
