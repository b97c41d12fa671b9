import { createHash } from 'node:crypto';
import { extname } from 'node:path';
import type { RoomList } from '../../core/model/room.ts';
import { ToolError } from '../../core/model/tool-error.ts';
import { readRegularFile } from '../files/regular-file.ts';
import { mostListBytes } from '../rooms/read-list-file.ts';
import { copyNameOf } from './plan-file.ts';
import { toRoundError } from './round-error.ts';

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
