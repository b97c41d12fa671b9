import type { ProofFacts } from '../../core/checks/medium/check-proof.ts';
import type { SortedEntry } from '../../core/contents/sort-contents.ts';
import type { Verdict } from '../../core/findings/finding.ts';
import type { LayoutPlan } from '../../core/model/layout-plan.ts';
import type { Manifest } from '../../core/model/manifest.ts';
import type { Mode } from '../../core/model/mode.ts';
import type { StickFacts } from '../../core/model/stick-facts.ts';
import type {
  ClearingState,
  FormatPlan,
  FormatReport,
  KeptLeft,
  Losses,
  MediumPlace,
  ProveReport,
} from '../../core/report/medium-reports.ts';
import type { ReportDocument } from '../../core/report/report-schema.ts';
import type { StickState } from '../../core/report/reports.ts';
import type { ShelfAddition } from '../../core/report/shelf-reports.ts';
import type { Conclusion } from '../../core/returned/check-returned.ts';
import type { ClearingItem, ClearingPlan } from '../../core/returned/plan-clearing.ts';
import type { ShelvedPackage } from '../../core/shelf/shelf-record.ts';

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

interface InspectDocument extends ReportDocument {
  readonly archive: { readonly entries: number; readonly digests: { readonly sha256: string } | null };
}

export const asInspect = (document: ReportDocument): InspectDocument => document as InspectDocument;

interface ShelfAddDocument extends ReportDocument {
  readonly additions: readonly {
    readonly archive: string;
    readonly state: ShelfAddition['state'];
    readonly verdict: Verdict;
    readonly findings: ReportDocument['findings'];
    readonly error: ReportDocument['error'] | null;
  }[];
}

export const asShelfAdd = (document: ReportDocument): ShelfAddDocument => document as ShelfAddDocument;

export interface ShelfListDocument extends ReportDocument {
  readonly packages: readonly ShelvedPackage[];
}

export const asShelfList = (document: ReportDocument): ShelfListDocument => document as ShelfListDocument;

export interface VerifyDocument extends ReportDocument {
  readonly manifest: Manifest | null;
  readonly filesRead: number;
  readonly bytesRead: number;
}

export const asVerify = (document: ReportDocument): VerifyDocument => document as VerifyDocument;

export interface ReturnedDocument extends VerifyDocument {
  /** Name of the round in which it was noted; absent where none counts on the stick. */
  readonly noted?: string;
  readonly returned: {
    readonly conclusion: Conclusion;
    readonly left: readonly SortedEntry[];
    readonly kept: KeptLeft | null;
    readonly clearing: {
      readonly state: ClearingState;
      readonly findings: ReportDocument['findings'];
      readonly plan:
        | (Pick<ClearingPlan, 'kept' | 'stays' | 'freedBytes' | 'settlesDirtyMark'> & {
            readonly goes: readonly ClearingItem[];
          })
        | null;
    };
  };
}

export const asReturned = (document: ReportDocument): ReturnedDocument => document as ReturnedDocument;

export interface FormatDocument extends ReportDocument {
  readonly state: FormatReport['state'];
  readonly medium: MediumPlace;
  readonly losses: Losses;
  readonly plan: FormatPlan;
}

export const asFormat = (document: ReportDocument): FormatDocument => document as FormatDocument;

export interface ProveDocument extends ReportDocument {
  readonly state: ProveReport['state'];
  readonly medium: MediumPlace | null;
  readonly losses: Losses | null;
  readonly proof: ProofFacts | null;
}

export const asProve = (document: ReportDocument): ProveDocument => document as ProveDocument;
