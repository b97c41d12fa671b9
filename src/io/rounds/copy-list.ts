import { createHash } from 'node:crypto';
import { extname, join } from 'node:path';
import { textsOf } from '../../core/findings/finding.ts';
import type { RoomList } from '../../core/model/room.ts';
import type { Round } from '../../core/model/round.ts';
import { ToolError } from '../../core/model/tool-error.ts';
import { makeListAgain } from '../../core/rounds/list/check-list.ts';
import { readRegularFile } from '../files/regular-file.ts';
import { mostListBytes, readTable } from '../rooms/read-table.ts';
import { copyNameOf } from './plan-file.ts';
import { type RoundFolder, toRoundError } from './rounds.ts';

/** The bytes of a room list that was just read, to keep beside the plan. Throws `file/changed-while-read`. */
export async function copyList({
  source,
  sha256,
}: Pick<RoomList, 'source' | 'sha256'>): Promise<{ readonly bytes: Uint8Array; readonly name: string }> {
  const bytes = await readRegularFile(source, mostListBytes).catch((cause) => {
    throw toRoundError(cause, 'read', source);
  });
  if (createHash('sha256').update(bytes).digest('hex') === sha256)
    return { bytes, name: copyNameOf(sha256, extname(source)) };
  throw new ToolError(
    'file/changed-while-read',
    source,
    `${source} was changed while it was read.`,
    'Save it, close the program that it is open in, and run the same command again.',
  );
}

/**
 * The copy of the list that a round was planned from, its columns as they were understood then. Throws
 * `round/unreadable`.
 */
export async function readKeptList(folder: RoundFolder, round: Round): Promise<RoomList> {
  await folder.list(); // says so where the copy is gone or was changed
  const path = join(folder.place, round.list.copy);
  const { columns, sheet } = round.list;
  const read = await readTable(path, { named: {}, recall: () => columns, sheet });
  const { list, findings } = makeListAgain(path, read, columns);
  if (list !== undefined) return { ...list, columns };
  const why = findings.map((found) => textsOf(found).seen).join(' ');
  const todo =
    'Plan the round again: stickwright round plan with the room list. The records beside it stay as they are.';
  throw new ToolError('round/unreadable', path, `The copy of the list cannot be understood any more. ${why}`, todo);
}
