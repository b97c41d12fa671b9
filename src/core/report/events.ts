import type { LayoutPlan, PlanItem } from '../model/layout-plan.ts';

/** What a workflow says while it works. Nothing in it is needed to understand the report. */
export type WorkEvent =
  | { readonly kind: 'stage'; readonly target: string; readonly stage: Stage; readonly totalBytes: number }
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
  | { readonly kind: 'plan'; readonly target: string; readonly plan: LayoutPlan };

export type Stage = 'looking' | 'reading' | 'writing' | 'reading-back';

export type Tell = (event: WorkEvent) => void;
