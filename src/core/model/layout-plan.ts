import type { Mode } from './mode.ts';

/** Where a planned file's bytes come from. */
export type Origin =
  | { readonly from: 'archive' }
  | { readonly from: 'entry'; readonly name: string; readonly crc32: number }
  | { readonly from: 'tool' };

/**
 * One thing the writer does, in the order it does it. Nothing that is not in the plan is done.
 *
 * `withdraw` removes an earlier manifest folder's files, `set-aside` moves a root entry into the dated folder, `remove`
 * deletes a file or an empty folder, `keep` is a file that is already right and is only read back, `write` puts
 * a file under its final path by way of the staging folder, `make-folder` likewise.
 */
export type PlanItem =
  | { readonly action: 'withdraw'; readonly path: string; readonly bytes: number }
  | { readonly action: 'set-aside'; readonly path: string; readonly to: string; readonly bytes: number }
  | { readonly action: 'remove'; readonly path: string; readonly kind: 'file' | 'folder'; readonly bytes: number }
  | { readonly action: 'keep'; readonly path: string; readonly bytes: number; readonly origin: Origin }
  | { readonly action: 'make-folder'; readonly path: string }
  | {
      readonly action: 'write';
      readonly path: string;
      readonly bytes: number;
      /** Clusters the file takes; undefined where the cluster size is not known. */
      readonly clusters: number | undefined;
      readonly origin: Origin;
    };

export interface LayoutPlan {
  readonly mode: Mode;
  readonly items: readonly PlanItem[];
  /** Entries of the stick that are neither touched nor in the way. */
  readonly untouched: readonly { readonly path: string; readonly bytes: number }[];
  readonly writeBytes: number;
  readonly freeBytesNow: number;
  /** Free space when all is done, counted in whole clusters. */
  readonly freeBytesAfter: number;
  /** The stick already holds exactly this; nothing is written. */
  readonly nothingToDo: boolean;
}
