import { type RoomField, roomFields } from '../core/model/room.ts';
import type { NamedColumns } from '../io/rooms/room-lists.ts';
import { UsageError } from './usage-error.ts';

const isField = (text: string): text is RoomField => (roomFields as readonly string[]).includes(text);

/**
 * What --columns says: `room=Raum,label="Typenschild"`, given once or several times. A heading may hold commas; the next field
 * begins where a comma is followed by a field's name and `=`.
 */
export function parseNamedColumns(given: readonly string[]): NamedColumns {
  const named: Partial<Record<RoomField, string>> = {};
  const parts = given.flatMap((text) => text.split(new RegExp(`,(?=\\s*(?:${roomFields.join('|')})\\s*=)`)));
  for (const part of parts) {
    const [, field = '', heading = ''] = /^\s*([^=]*?)\s*=\s*(.*?)\s*$/s.exec(part) ?? [];
    const text = /^(["'])(.*)\1$/s.exec(heading)?.[2] ?? heading;
    if (!isField(field) || text === '') throw unknown(part);
    if (named[field] !== undefined) {
      throw new UsageError(`--columns names ${field} twice.`, 'Name each field once.');
    }
    named[field] = text;
  }
  const twice = Object.entries(named).find(([field, heading]) =>
    Object.entries(named).some(([other, same]) => other !== field && same === heading),
  );
  if (twice !== undefined) {
    throw new UsageError(`--columns gives "${twice[1]}" to two fields.`, 'A column holds one of them.');
  }
  return named;
}

const unknown = (part: string): UsageError =>
  new UsageError(
    `--columns does not understand "${part.trim()}".`,
    `Write FIELD=HEADING, with commas between, such as --columns "room=Raum,label=Typenschild". The fields are ${roomFields.join(', ')}.`,
  );
