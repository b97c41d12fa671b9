import { type RoomField, roomFields } from '../core/model/room.ts';
import type { NamedColumns } from '../io/rooms/room-lists.ts';
import { UsageError } from './usage-error.ts';

const isField = (word: string): word is RoomField => roomFields.some((field) => field === word);

/** `--columns room=Raum label=Typenschild`: which heading stands for which field. */
export function parseColumns(words: readonly string[]): NamedColumns {
  const named: Partial<Record<RoomField, string>> = {};
  for (const word of words) {
    const at = word.indexOf('=');
    const field = word.slice(0, Math.max(0, at)).trim();
    const heading = word.slice(at + 1).trim();
    if (at < 1 || heading === '' || !isField(field)) {
      const todo = `Write FIELD=HEADING, such as room="Raum Nr."; the fields are ${roomFields.join(', ')}.`;
      throw new UsageError(`--columns ${word} names no column.`, todo);
    }
    if (named[field] !== undefined) throw new UsageError(`--columns names ${field} twice.`, 'Leave one of them out.');
    named[field] = heading;
  }
  return named;
}
