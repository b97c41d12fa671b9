import type { Finding } from '../../core/findings/finding.ts';
import type { RoomField, RoomList } from '../../core/model/room.ts';

/** Which heading stands for which field, as a person said it: `{ room: 'Raum' }`. */
export type NamedColumns = Readonly<Partial<Record<RoomField, string>>>;

export interface RoomListReading {
  /** Undefined where no room could be read at all. */
  readonly list: RoomList | undefined;
  /** Bad rows with row, column, what and how to mend; and how the columns were found. */
  readonly findings: readonly Finding[];
}

/** Reads a room list: CSV or a spreadsheet. Throws ToolError `file/not-found`, `file/not-permitted`, `file/unreadable`. */
export type ReadRoomList = (path: string, columns: NamedColumns) => Promise<RoomListReading>;
