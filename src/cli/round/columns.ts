import { type RoomField, roomFields } from '../../core/model/room.ts';
import type { Columns } from '../../core/rounds/list/match-columns.ts';
import type { AskColumns, ColumnQuestion, NamedColumns } from '../../io/rooms/room-lists.ts';
import { tame } from '../../render/text/page.ts';
import { UsageError } from '../frame/exit-codes.ts';
import { ask } from '../frame/interruption.ts';
import { aside } from '../frame/screen.ts';

const isField = (text: string): text is RoomField => (roomFields as readonly string[]).includes(text);

/**
 * What --columns says: `room=Raum,label="Typenschild"`, given once or several times. A heading may hold commas; the
 * next field begins where a comma is followed by a field's name and `=`.
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

const what: Readonly<Partial<Record<RoomField, string>>> = {
  room: 'room (where a person finds the panel)',
  running: 'running build (as the About page shows it)',
  label: "label (the model line of the panel's plate)",
};

/** Asks at the terminal which column holds what the headings do not say. Only where `isInteractive()`. */
export const askColumns: AskColumns = async (question) => {
  const { select, Separator } = await import('@inquirer/prompts');
  const picked: Partial<Record<RoomField, number>> = {};
  aside(
    `\n${tame(question.source)}: the headings do not say everything. Your answer is kept for lists with these headings.\n`,
  );
  for (const field of question.missing) {
    const choices = choicesFor(question, field, picked);
    const query = {
      message: `Which column is the ${what[field] ?? field}?`,
      choices: [...choices, new Separator(), { name: 'none of these', value: -1 }],
      default: choices.find(({ perhaps }) => perhaps)?.value ?? choices[0]?.value ?? -1,
      pageSize: 12,
    };
    const column = await ask((asking) => select(query, asking));
    if (column >= 0) picked[field] = column;
    else if (!question.optional.includes(field)) return undefined;
  }
  return picked;
};

function choicesFor({ choices }: ColumnQuestion, field: RoomField, picked: Columns) {
  return choices
    .filter(({ column }) => !Object.values(picked).includes(column))
    .map(({ column, heading, cells, perhaps }) => ({
      value: column,
      perhaps: perhaps === field,
      name: tame(
        `${heading === '' ? `column ${column + 1}` : heading}${cells.length === 0 ? '' : `   (${cells.join(', ').slice(0, 60)})`}`,
      ),
    }));
}
