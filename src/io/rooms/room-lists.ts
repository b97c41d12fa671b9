import type { Finding } from '../../core/findings/finding.ts';
import type { Family } from '../../core/model/family.ts';
import type { RoomField, RoomList } from '../../core/model/room.ts';
import type { Columns } from '../../core/rounds/list/match-columns.ts';

/** Which heading stands for which field, as a person said it: `{ room: 'Raum' }`. */
export type NamedColumns = Readonly<Partial<Record<RoomField, string>>>;

export interface RoomListReading {
  /** Undefined where no room could be read at all. */
  readonly list: RoomList | undefined;
  /** Bad rows with row, column, what and how to mend; and how the columns were found. */
  readonly findings: readonly Finding[];
}

/** What was said of lists with the same headings earlier. Never fatal: a damaged memory is a finding and counts as empty. */
export interface ColumnMemory {
  recall(headings: readonly string[]): Columns | undefined;
  /** Keeps what a person said of these headings. */
  keep(headings: readonly string[], columns: Columns): Promise<readonly Finding[]>;
  /** What was wrong with the memory when it was opened. */
  readonly findings: readonly Finding[];
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

/** Reads a room list: CSV or a spreadsheet. Throws ToolError `file/not-found`, `file/not-permitted`, `file/unreadable`. */
export type ReadRoomList = (path: string, columns: NamedColumns, helps?: ListHelps) => Promise<RoomListReading>;
