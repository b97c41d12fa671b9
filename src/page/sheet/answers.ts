import type { Verdict } from '../../core/findings/finding.ts';
import type { LayoutPlan } from '../../core/model/layout-plan.ts';
import type { Manifest } from '../../core/model/manifest.ts';
import type { Mode } from '../../core/model/mode.ts';
import type { StickFacts } from '../../core/model/stick-facts.ts';
import type { ReportDocument } from '../../core/report/report-schema.ts';
import type { StickState } from '../../core/report/reports.ts';

// What stands in the published documents, as far as the page shows it; render/json makes them.

export interface StickInDocument {
  readonly target: string;
  readonly state: StickState;
  readonly verdict: Verdict;
  readonly findings: ReportDocument['findings'];
  readonly facts: StickFacts | null;
  readonly plan: LayoutPlan | null;
  readonly manifest: Manifest | null;
  readonly error: ReportDocument['error'] | null;
}

export interface PrepareDocument extends ReportDocument {
  readonly mode: Mode;
  readonly interrupted: boolean;
  readonly sticks: readonly StickInDocument[];
}

export const asPrepare = (document: ReportDocument): PrepareDocument => document as PrepareDocument;
