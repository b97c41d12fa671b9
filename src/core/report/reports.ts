import type { ListedLabel } from '../checks/fit/check-label.ts';
import type { Finding, Verdict } from '../findings/finding.ts';
import type { FamilyProposal } from '../label/propose-family.ts';
import type { Family, ModeRules } from '../model/family.ts';
import { bytesToRead, type LayoutPlan, type PlanItem } from '../model/layout-plan.ts';
import type { Manifest } from '../model/manifest.ts';
import type { Mode } from '../model/mode.ts';
import type { LabelReading } from '../model/panel-identity.ts';
import type { StickFacts } from '../model/stick-facts.ts';
import type { ToolError } from '../model/tool-error.ts';
import type { ArchiveAnswer } from '../update-package/update-package-facts.ts';

export interface InspectReport {
  readonly command: 'inspect';
  readonly verdict: Verdict;
  readonly findings: readonly Finding[];
  readonly archive: ArchiveAnswer;
  readonly label: LabelReading | undefined;
}

export interface LabelReport {
  readonly command: 'label';
  readonly verdict: Verdict;
  readonly findings: readonly Finding[];
  readonly label: LabelReading;
}

export interface LabelListReport {
  readonly command: 'label';
  readonly verdict: Verdict;
  readonly labels: readonly ListedLabel[];
}

/**
 * What became of one stick. `planned`: a dry run, nothing was written. `refused`: a finding stopped it before anything
 * was written. `declined`: the person said no. `written`: all done and read back. `unchanged`: it was right already.
 * `unfinished`: it stopped in the middle; the stick says not ready and the same command goes on.
 */
export type StickState = 'planned' | 'refused' | 'declined' | 'written' | 'unchanged' | 'unfinished' | 'failed';

export interface StickAnswer {
  readonly target: string;
  readonly state: StickState;
  readonly verdict: Verdict;
  readonly findings: readonly Finding[];
  /** Undefined where the stick could not be opened. */
  readonly facts: StickFacts | undefined;
  readonly plan: LayoutPlan | undefined;
  readonly manifest: Manifest | undefined;
  /** Why the tool could not go on with this stick; the others went on. */
  readonly error: ToolError | undefined;
}

export interface PrepareReport {
  readonly command: 'prepare';
  readonly verdict: Verdict;
  readonly dryRun: boolean;
  readonly mode: Mode;
  /** What the family says of this mode, or what is customary. */
  readonly rules: ModeRules;
  readonly archive: ArchiveAnswer;
  readonly label: LabelReading;
  /** About archive and label, for all sticks. */
  readonly findings: readonly Finding[];
  readonly sticks: readonly StickAnswer[];
  readonly interrupted: boolean;
}

export interface VerifyReport {
  readonly command: 'verify';
  readonly verdict: Verdict;
  readonly findings: readonly Finding[];
  readonly stick: StickFacts;
  readonly manifest: Manifest | undefined;
  readonly filesRead: number;
  readonly bytesRead: number;
}

/** What a workflow says while it works. Nothing in it is needed to understand the report. */
export type WorkEvent =
  | {
      readonly kind: 'stage';
      readonly target: string;
      readonly stage: Stage;
      readonly totalBytes: number;
      /** Absent where the stage is all there is. */
      readonly job?: JobPlace;
    }
  /** Bytes since the stage began. */
  | {
      readonly kind: 'progress';
      readonly target: string;
      readonly stage: Stage;
      readonly doneBytes: number;
      readonly totalBytes: number;
    }
  /** An item of the plan is done, in the plan's own words. */
  | { readonly kind: 'item'; readonly target: string; readonly item: PlanItem }
  | { readonly kind: 'plan'; readonly target: string; readonly plan: LayoutPlan }
  /** What became of a stick; the others may still be at work. */
  | { readonly kind: 'end'; readonly target: string; readonly state: StickState };

/**
 * `receiving`: a page hands it over. `flushing`: all was handed over, and the stick is still taking it. `finishing`:
 * final names and record.
 */
export type Stage = 'looking' | 'receiving' | 'reading' | 'writing' | 'flushing' | 'reading-back' | 'finishing';

/** Where in the preparation of a stick a stage is; steps count from 1, and bytes are written or read back. */
export interface JobPlace {
  readonly step: number;
  readonly steps: number;
  readonly beforeBytes: number;
  readonly allBytes: number;
}

const preparing = ['writing', 'flushing', 'reading-back', 'finishing'] as const;

/** That TARGET's preparation, which PLAN says, has come to STAGE. */
export function stageOfJob(target: string, stage: (typeof preparing)[number], plan: LayoutPlan): WorkEvent {
  const { writeBytes } = plan;
  const readBytes = bytesToRead(plan);
  const before = { writing: 0, flushing: writeBytes, 'reading-back': writeBytes, finishing: writeBytes + readBytes };
  const totals = { writing: writeBytes, flushing: 0, 'reading-back': readBytes, finishing: 0 };
  const [step, steps] = [preparing.indexOf(stage) + 1, preparing.length];
  const job = { step, steps, beforeBytes: before[stage], allBytes: writeBytes + readBytes };
  return { kind: 'stage', target, stage, totalBytes: totals[stage], job };
}

export type Tell = (event: WorkEvent) => void;

/** Families that were looked at: all of a desk for `list` and `check`, one for `show`. */
export interface FamilyReport {
  readonly command: `family ${'check' | 'list' | 'show' | 'add' | 'widen' | 'confirm'}`;
  readonly verdict: Verdict;
  readonly findings: readonly Finding[];
  readonly families: readonly Family[];
}

export interface FamilyNewReport {
  readonly command: 'family new';
  readonly verdict: Verdict;
  /** About the proposed file, alone and beside the families that are there. */
  readonly findings: readonly Finding[];
  readonly proposal: FamilyProposal;
  /** The text of the file. */
  readonly text: string;
  /** Where it was written; undefined where it was not. */
  readonly path: string | undefined;
}
