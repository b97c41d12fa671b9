import type { Family } from '../../core/model/family.ts';
import type { RoomField } from '../../core/model/room.ts';
import type { ListReading } from '../../core/rounds/list/check-list.ts';
import type { Recall } from '../../core/rounds/list/find-heading-row.ts';
import type { Columns } from '../../core/rounds/list/match-columns.ts';

/** Which heading stands for which field, as a person said it: `{ room: 'Raum' }`. */
export type NamedColumns = Readonly<Partial<Record<RoomField, string>>>;

/** What decides how a file is cut into rows. */
export interface ListWishes {
  readonly named: NamedColumns;
  readonly recall: Recall;
  /** A sheet of a workbook; without it the first visible one. */
  readonly sheet: string | undefined;
}

/**
 * Reads a list's rows: CSV or a spreadsheet. Throws ToolError `file/not-found`, `file/not-permitted`,
 * `file/unreadable`.
 */
export type ReadTable = (path: string, wishes: ListWishes) => Promise<ListReading>;

/** What was said of lists with the same headings earlier. Never fatal: a damaged memory says so and counts as empty. */
export interface ColumnMemory {
  readonly place: string;
  /** What was wrong with it when it was opened. */
  readonly problem: string | undefined;
  recall(headings: readonly string[]): Columns | undefined;
  /** Keeps what a person said of these headings; answers why it could not. */
  keep(headings: readonly string[], columns: Columns): Promise<string | undefined>;
}

/** What a person is asked when the headings do not say where room, label or running build stand. */
export interface ColumnQuestion {
  readonly source: string;
  readonly missing: readonly RoomField[];
  /** Those of them without which the list can be read. */
  readonly optional: readonly RoomField[];
  /** Every column that is still free: its heading, a few of its cells, and what it is perhaps. */
  readonly choices: readonly {
    readonly column: number;
    readonly heading: string;
    readonly cells: readonly string[];
    readonly perhaps: RoomField | undefined;
  }[];
}

/** The columns that were picked; undefined where nobody wanted to. */
export type AskColumns = (question: ColumnQuestion) => Promise<Columns | undefined>;

/** Everything that helps to read a list; none of it is needed. */
export interface ListHelps {
  /** Their label grammars tell in which column the labels seem to stand; it is said, and never decides. */
  readonly families?: readonly Family[] | undefined;
  /** A sheet of a workbook; without it the first visible one. */
  readonly sheet?: string | undefined;
  readonly memory?: ColumnMemory | undefined;
  /** Only where somebody sits at a terminal. */
  readonly ask?: AskColumns | undefined;
}
