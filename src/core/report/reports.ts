import type { ListedLabel } from '../checks/fit/check-label-list.ts';
import type { Finding } from '../findings/finding.ts';
import type { Verdict } from '../findings/verdict.ts';
import type { ArchiveFacts, Digests } from '../model/archive-facts.ts';
import type { ModeRules } from '../model/family.ts';
import type { LayoutPlan } from '../model/layout-plan.ts';
import type { Manifest } from '../model/manifest.ts';
import type { Mode } from '../model/mode.ts';
import type { LabelReading, PackageReading } from '../model/panel-identity.ts';
import type { StickFacts } from '../model/stick-facts.ts';
import type { ToolError } from '../model/tool-error.ts';
import type { UpdatePackageFacts } from '../update-package/update-package-facts.ts';

/** What was learned about an archive. `digests` is undefined where the archive was not read to its end. */
export interface ArchiveAnswer {
  readonly facts: ArchiveFacts;
  readonly package: PackageReading;
  readonly digests: Digests | undefined;
  /** What an Android update package says of itself; undefined where it is none, or was not read. */
  readonly inside: UpdatePackageFacts | undefined;
}

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
