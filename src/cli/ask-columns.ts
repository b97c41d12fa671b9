import type { RoomField } from '../core/model/room.ts';
import type { Columns } from '../core/rounds/list/match-columns.ts';
import type { AskColumns, ColumnQuestion } from '../io/rooms/room-lists.ts';
import { tame } from '../render/text/page.ts';

const what: Readonly<Partial<Record<RoomField, string>>> = {
  room: 'room (where a person finds the panel)',
  running: 'running build (as the About page shows it)',
  label: "label (the model line of the panel's plate)",
};

/** Asks at the terminal which column holds what the headings do not say. Only where `isInteractive()`. */
export const askColumns: AskColumns = async (question) => {
  const { select, Separator } = await import('@inquirer/prompts');
  const picked: Partial<Record<RoomField, number>> = {};
  process.stderr.write(
    `\n${tame(question.source)}: the headings do not say everything. Your answer is kept for lists with these headings.\n`,
  );
  for (const field of question.missing) {
    const choices = choicesFor(question, field, picked);
    const column = await select(
      {
        message: `Which column is the ${what[field] ?? field}?`,
        choices: [...choices, new Separator(), { name: 'none of these', value: -1 }],
        default: choices.find(({ perhaps }) => perhaps)?.value ?? choices[0]?.value ?? -1,
        pageSize: 12,
      },
      { output: process.stderr },
    ).catch(stopped);
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

/** Ctrl-C at a question is no fault of the tool. */
function stopped(cause: unknown): never {
  if (cause instanceof Error && cause.name === 'ExitPromptError') throw new Error('interrupted by Ctrl-C', { cause });
  throw cause;
}
