import { createHash } from 'node:crypto';
import { type Finding, finding } from '../../core/findings/finding.ts';
import type { RoomField } from '../../core/model/room.ts';
import { identifyList, type Recall } from '../../core/rounds/list/find-heading-row.ts';
import type { Columns } from '../../core/rounds/list/match-columns.ts';
import { readRooms } from '../../core/rounds/list/read-rooms.ts';
import {
  columnsUnknown,
  doubtLabelColumn,
  fieldsNotRead,
  findLabelColumn,
  guessColumns,
} from '../../core/rounds/list/suggest-columns.ts';
import { columnsRead, type Understood, understandTable } from '../../core/rounds/list/understand-table.ts';
import { type ReadTable, readCsv } from './read-csv.ts';
import { readListFile } from './read-list-file.ts';
import type { ColumnQuestion, ListHelps, NamedColumns, ReadRoomList, RoomListReading } from './room-lists.ts';
import { readXlsx } from './workbook/read-xlsx.ts';

/** Reads a room list in the steps: bytes → rows of cells → headings and columns → rooms. The rows that are bad are findings. */
export const readRoomList: ReadRoomList = async (path, named, helps = {}): Promise<RoomListReading> => {
  const bytes = await readListFile(path);
  if (bytes === undefined) {
    return refused([finding('room/too-large', path, { what: 'more than 32 MB' })]);
  }
  const recall: Recall = (headings) => helps.memory?.recall(headings);
  const read = await readTable(bytes, path, named, recall, helps);
  const findings = [...(helps.memory?.findings ?? []), ...read.findings];
  if (read.table === undefined || read.form === undefined) return refused(findings);
  const understood = understandTable(read.table.rows, named, recall, path);
  findings.push(...understood.findings);
  if (!('below' in understood)) return refused(findings);
  const settled = await settleColumns(understood, path, helps);
  if (settled === undefined) {
    return refused([...findings, unknown(understood, path, helps)]);
  }
  const { headings, below } = understood;
  findings.push(...(await remember(understood, settled.asked, named, helps)));
  findings.push(columnsRead({ ...understood, columns: settled.columns }, named, recall, settled.asked ?? {}, path));
  findings.push(...fieldsNotRead(headings, settled.columns, path));
  findings.push(...doubtLabelColumn(below, headings, settled.columns.label ?? 0, helps.families ?? [], path));
  if (below.length === 0) return refused([...findings, finding('room/no-rows', path)]);
  const context = { source: path, places: read.table.places, headings, columns: settled.columns };
  const { rooms, findings: ofRows } = readRooms(below, context);
  return {
    list: {
      source: path,
      sha256: createHash('sha256').update(bytes).digest('hex'),
      form: read.form,
      headings,
      columns: settled.columns,
      rooms,
      rows: below.map(({ row, cells }) => ({ row, cells })),
    },
    findings: [...findings, ...ofRows],
  };
};

const refused = (findings: readonly Finding[]): RoomListReading => ({ list: undefined, findings });

async function readTable(
  bytes: Buffer,
  path: string,
  named: NamedColumns,
  recall: Recall,
  helps: ListHelps,
): Promise<ReadTable> {
  const identity = identifyList(bytes);
  const no = (found: Finding): ReadTable => ({ table: undefined, form: undefined, findings: [found] });
  switch (identity.kind) {
    case 'text':
      return readCsv(bytes, path, named, recall);
    case 'zip':
      return await readXlsx(bytes, path, helps.sheet);
    case 'other':
      return no(finding('room/not-a-list', path, { kind: identity.what }));
  }
}

interface Settled {
  readonly columns: Columns;
  /** Undefined where nobody was asked. */
  readonly asked: Columns | undefined;
}

/**
 * The columns as found, or with the missing ones asked for. The running build is asked for once: whoever answers that it is not
 * there is not asked again for these headings.
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
  return await memory.keep(understood.headings, { ...understood.columns, ...asked });
}
