import type { Mode } from './mode.ts';

/** Where a planned file's bytes come from. */
export type Origin =
  | { readonly from: 'archive' }
  | { readonly from: 'entry'; readonly name: string; readonly crc32: number };

/**
 * One thing the writer does, in the order it does it. Nothing that is not in the plan is done.
 *
 * `withdraw` takes an earlier manifest, its lists and their folder away; one with `to` is kept under that name until
 * the new record lies complete on the stick, so that an interrupted run still knows what it was about. `set-aside`
 * moves a file or folder into the dated folder; `remove` deletes a file or an empty folder; `keep` is a file that
 * already holds the right content and is only read back (`staged`: an unfinished run left it in the staging folder,
 * from where it is moved into place); `write` puts a file under its final path by way of the staging folder,
 * `make-folder` likewise; `record` writes the manifest, the checksum list and the note, last.
 */
export type PlanItem =
  | {
      readonly action: 'withdraw';
      readonly path: string;
      readonly kind: 'file' | 'folder';
      readonly bytes: number;
      readonly to?: string;
    }
  | { readonly action: 'set-aside'; readonly path: string; readonly to: string; readonly bytes: number }
  | { readonly action: 'remove'; readonly path: string; readonly kind: 'file' | 'folder'; readonly bytes: number }
  | {
      readonly action: 'keep';
      readonly path: string;
      readonly bytes: number;
      readonly origin: Origin;
      readonly staged: boolean;
    }
  | { readonly action: 'make-folder'; readonly path: string }
  | {
      readonly action: 'write';
      readonly path: string;
      readonly bytes: number;
      /** Clusters the file takes; undefined where the cluster size is not known. */
      readonly clusters: number | undefined;
      readonly origin: Origin;
    }
  | { readonly action: 'record'; readonly path: string };

export interface LayoutPlan {
  readonly mode: Mode;
  readonly items: readonly PlanItem[];
  /** Entries of the stick that are neither touched nor in the way. */
  readonly untouched: readonly { readonly path: string; readonly bytes: number }[];
  readonly writeBytes: number;
  readonly freeBytesNow: number;
  /** Free space when all is done, at the least, in whole clusters: the record is reckoned generously. */
  readonly freeBytesAfter: number;
  /** The stick already holds exactly this; nothing is written. */
  readonly nothingToDo: boolean;
}

/** What is read back of PLAN: all that is written, and all that was right already. */
export const bytesToRead = ({ items }: Pick<LayoutPlan, 'items'>): number =>
  items.reduce((sum, item) => sum + (item.action === 'write' || item.action === 'keep' ? item.bytes : 0), 0);
