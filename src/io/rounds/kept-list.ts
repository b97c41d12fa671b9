import { join } from 'node:path';
import { textsOf } from '../../core/findings/finding.ts';
import type { RoomList } from '../../core/model/room.ts';
import type { Round } from '../../core/model/round.ts';
import { ToolError } from '../../core/model/tool-error.ts';
import { readRoomList } from '../rooms/read-room-list.ts';
import type { RoundFolder } from './rounds.ts';

/** The copy of the list that a round was planned from, its columns as they were understood then. Throws `round/unreadable`. */
export async function readKeptList(folder: RoundFolder, round: Round): Promise<RoomList> {
  await folder.list(); // says so where the copy is gone or was changed
  const path = join(folder.place, round.list.copy);
  const memory = { recall: () => round.list.columns, keep: async () => [], findings: [] };
  const { list, findings } = await readRoomList(path, {}, { memory });
  if (list !== undefined) return { ...list, columns: round.list.columns };
  const why = findings.map((found) => textsOf(found).seen).join(' ');
  const todo =
    'Plan the round again: stickwright round plan with the room list. The records beside it stay as they are.';
  throw new ToolError('round/unreadable', path, `The copy of the list cannot be understood any more. ${why}`, todo);
}
