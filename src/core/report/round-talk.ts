import type { RoomField } from '../model/room.ts';
import type { Load, Round } from '../model/round.ts';
import type { SheetSeen } from '../rounds/list/check-list.ts';
import type { ColumnLaidOut, RowLaidOut } from '../rounds/list/lay-out-list.ts';
import type { ReportDocument } from './report-schema.ts';

// What the server of the window and its page say to each other about a round. Status, records and the like are the
// published documents.

/** A round that the page may name. */
export interface RoundNamed {
  /** Its folder: the only form in which the page may name it. */
  readonly place: string;
  readonly name: string;
  /** RFC 3339; undefined where nothing is planned there yet. */
  readonly plannedAt: string | undefined;
}

/** One stick that is still to be made. */
export interface PreparationSeen {
  readonly load: Load;
  readonly number: number;
  readonly of: number;
}

/** The round that lies on the desk. */
export interface RoundSeen {
  readonly place: string | undefined;
  readonly rounds: readonly RoundNamed[];
  readonly plan: Round | undefined;
  /** Rooms, sticks and counts as the records have them; undefined where there is no plan. */
  readonly status: ReportDocument | undefined;
  /** In the order in which the sticks are wanted. */
  readonly todo: readonly PreparationSeen[];
  /** Why the round cannot be read. */
  readonly problem: string | undefined;
}

type FindingSeen = ReportDocument['findings'][number];

/** A row of a dropped list that something is to be said of. */
export interface RowSeen extends Omit<RowLaidOut, 'findings'> {
  readonly findings: readonly FindingSeen[];
  /** Columns that were mended. */
  readonly mended: readonly number[];
}

/** The room list that was dropped on the desk. */
export interface ListSeen {
  readonly name: string;
  /** Of a workbook, in its order; else empty. */
  readonly sheets: readonly SheetSeen[];
  /** The one that is read; undefined where none is. */
  readonly sheet: string | undefined;
  readonly headings: readonly string[];
  readonly columns: readonly ColumnLaidOut[];
  readonly missing: readonly RoomField[];
  readonly rows: readonly RowSeen[];
  readonly findings: readonly FindingSeen[];
  /** `12 rows: 9 rooms, 3 cannot be used`; undefined where no room can be read yet. */
  readonly count: string | undefined;
}
