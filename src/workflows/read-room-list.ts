import type { Finding } from '../core/findings/finding.ts';
import type { RoomField, RoomList } from '../core/model/room.ts';
import { checkListFile, checkMemory, makeRoomList } from '../core/rounds/list/check-list.ts';
import type { Recall } from '../core/rounds/list/find-heading-row.ts';
import type { Columns } from '../core/rounds/list/match-columns.ts';
import { columnsUnknown, findLabelColumn, guessColumns } from '../core/rounds/list/suggest-columns.ts';
import { type Understood, understandTable } from '../core/rounds/list/understand-table.ts';
import type { ColumnQuestion, ListHelps, NamedColumns, ReadTable } from '../io/rooms/room-lists.ts';

export interface RoomListReading {
  /** Undefined where no room could be read at all. */
  readonly list: RoomList | undefined;
  /** Bad rows with row, column, what and how to mend; and how the columns were found. */
  readonly findings: readonly Finding[];
}

/**
 * Reads a room list in the steps: bytes → rows of cells → headings and columns → rooms. Throws what READ TABLE throws.
 */
export async function readRoomList(
  path: string,
  named: NamedColumns,
  helps: ListHelps,
  readTable: ReadTable,
): Promise<RoomListReading> {
  const recall: Recall = (headings) => helps.memory?.recall(headings);
  const read = await readTable(path, { named, recall, sheet: helps.sheet });
  const findings = [
    ...(helps.memory === undefined ? [] : checkMemory(helps.memory.place, helps.memory.problem)),
    ...checkListFile(path, read),
  ];
  if (read.table === undefined) return { list: undefined, findings };
  const understood = understandTable(read.table.rows, named, recall, path);
  findings.push(...understood.findings);
  if (!('below' in understood)) return { list: undefined, findings };
  const settled = await settleColumns(understood, path, helps);
  if (settled === undefined) return { list: undefined, findings: [...findings, unknown(understood, path, helps)] };
  findings.push(...(await remember(understood, settled.asked, named, helps)));
  const { columns, asked = {} } = settled;
  const { families = [] } = helps;
  const made = makeRoomList(path, read, understood, { columns, asked, named, recall, families });
  return { ...made, findings: [...findings, ...made.findings] };
}

interface Settled {
  readonly columns: Columns;
  /** Undefined where nobody was asked. */
  readonly asked: Columns | undefined;
}

/**
 * The columns as found, or with the missing ones asked for. The running build is asked for once: whoever answers that
 * it is not there is not asked again for these headings.
 */
async function settleColumns(understood: Understood, path: string, helps: ListHelps): Promise<Settled | undefined> {
  const { headings, columns, missing } = understood;
  const isKnown = columns.running !== undefined || helps.memory?.recall(headings) !== undefined;
  const wanted: readonly RoomField[] = isKnown ? missing : [...missing, 'running'];
  const question = questionOf(understood, wanted, path, helps);
  const canAsk = wanted.length > 0 && question.choices.length > 0;
  const asked = canAsk ? await helps.ask?.(question) : undefined;
  if (asked === undefined) return missing.length === 0 ? { columns, asked: undefined } : undefined;
  const settled = { ...columns, ...asked };
  return missing.every((field) => settled[field] !== undefined) ? { columns: settled, asked } : undefined;
}

const guessesOf = ({ headings, below, columns }: Understood, { families = [] }: ListHelps): Columns =>
  guessColumns(headings, columns, findLabelColumn(below, headings.length, families));

function questionOf(
  understood: Understood,
  missing: readonly RoomField[],
  source: string,
  helps: ListHelps,
): ColumnQuestion {
  const { headings, below, columns } = understood;
  const guesses = guessesOf(understood, helps);
  const taken = new Set(Object.values(columns));
  const choices = headings.flatMap((heading, column) => {
    if (taken.has(column)) return [];
    const cells = below.map((row) => row.cells[column]?.trim() ?? '').filter((cell) => cell !== '');
    const perhaps = missing.find((field) => guesses[field] === column);
    return [{ column, heading: heading.trim(), cells: cells.slice(0, 3), perhaps }];
  });
  return { source, missing, optional: missing.filter((field) => field === 'running'), choices };
}

const unknown = (understood: Understood, path: string, helps: ListHelps): Finding =>
  columnsUnknown(understood.headings, understood.missing, guessesOf(understood, helps), path);

/** What a person said is kept, together with what else is known of these headings. */
async function remember(
  understood: Understood,
  asked: Columns | undefined,
  named: NamedColumns,
  { memory }: ListHelps,
): Promise<readonly Finding[]> {
  const nothingSaid = asked === undefined && Object.keys(named).length === 0;
  if (memory === undefined || nothingSaid) return [];
  return checkMemory(memory.place, await memory.keep(understood.headings, { ...understood.columns, ...asked }));
}
