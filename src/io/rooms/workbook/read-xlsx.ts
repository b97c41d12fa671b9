import type { ListKind } from '../../../core/findings/catalogue/room.ts';
import type { ListFact, SheetSeen } from '../../../core/rounds/list/check-list.ts';
import type { TableRow } from '../../../core/rounds/list/list-table.ts';
import type { ReadTable } from '../read-csv.ts';
import { readFormats, readSharedStrings } from './cell-text.ts';
import { damaged, openParts, type Parts, WorkbookRefusal } from './open-parts.ts';
import { readSheet, type Sheet } from './read-sheet.ts';
import { readWorkbook, type SheetEntry } from './read-workbook.ts';

/** Empty rows between filled ones are kept, so that the list can be given back; not whole pages of them. */
const mostEmptyRows = 1_000;

/** Reads the first visible sheet of a workbook, or the one named. Whatever is wrong with it is among what was seen. */
export async function readXlsx(bytes: Buffer, wanted: string | undefined): Promise<ReadTable> {
  const refused = (fact: ListFact): ReadTable => ({ table: undefined, form: undefined, seen: [fact] });
  try {
    const parts = await openParts(bytes);
    const other = await otherKind(parts);
    if (other !== undefined) return refused({ kind: 'other-kind', is: other });
    const workbook = await readWorkbook(parts);
    const sheet = chooseSheet(workbook.sheets, wanted);
    const cells = workbook.sheets.filter(({ part }) => part !== undefined);
    if (sheet?.part === undefined) {
      const fact = { kind: 'sheet-missing', wanted, sheets: cells.map(({ name }) => name) } as const;
      return { ...refused(fact), sheets: sheetsOf(cells) };
    }
    const isChosen = sheet !== cells.find(({ visible }) => visible);
    const others = cells.filter((one) => one !== sheet && one.visible).map(({ name }) => name);
    const context = {
      strings: await readSharedStrings(parts, workbook.sharedStrings),
      formats: await readFormats(parts, workbook.styles),
      from1904: workbook.from1904,
    };
    const rows = rowsOf(await readSheet(parts, sheet.part, context));
    return {
      table: { rows, places: 'cells' },
      form: { kind: 'xlsx', sheet: sheet.name, ...(isChosen ? { isChosen } : {}) },
      sheets: sheetsOf(cells),
      seen: others.length === 0 ? [] : [{ kind: 'sheet-chosen', sheet: sheet.name, others }],
    };
  } catch (cause) {
    if (!(cause instanceof WorkbookRefusal)) throw cause;
    const { kind, message } = cause;
    return refused(kind === 'damaged' ? { kind, problem: message } : { kind: 'too-large', what: message });
  }
}

function chooseSheet(sheets: readonly SheetEntry[], wanted: string | undefined): SheetEntry | undefined {
  const cells = sheets.filter(({ part }) => part !== undefined);
  if (wanted === undefined) return cells.find(({ visible }) => visible);
  const plain = (text: string): string => text.normalize('NFKC').trim().toLowerCase();
  return cells.find(({ name }) => name === wanted) ?? cells.find(({ name }) => plain(name) === plain(wanted));
}

const sheetsOf = (cells: readonly SheetEntry[]): readonly SheetSeen[] =>
  cells.map(({ name, visible }) => ({ name, isHidden: !visible }));

/** What else comes as a ZIP. */
async function otherKind(parts: Parts): Promise<ListKind | undefined> {
  const has = (pattern: RegExp): boolean => parts.names.some((name) => pattern.test(name));
  if (has(/^mimetype$/)) {
    const type = await firstText(parts, 'mimetype');
    return type.startsWith('application/vnd.oasis.opendocument.spreadsheet') ? 'ods' : 'document';
  }
  if (has(/^xl\/workbook\.bin$/i)) return 'xlsb';
  if (has(/^index\/.*\.iwa$/i) || has(/^index\.zip$/i)) return 'numbers';
  if (has(/^(word\/document|ppt\/presentation)\.xml$/i)) return 'document';
  return has(/^\[content_types\]\.xml$/i) ? undefined : 'archive';
}

async function firstText(parts: Parts, name: string): Promise<string> {
  for await (const piece of parts.open(name) ?? []) return new TextDecoder().decode(piece.subarray(0, 200));
  return '';
}

/** Fills what vertically merged cells cover, and keeps the empty rows in between. */
function rowsOf({ rows, merged }: Sheet): readonly TableRow[] {
  const indexOf = new Map(rows.map(({ row }, index) => [row, index]));
  let fills = 0;
  for (const { firstRow, lastRow, column } of merged) {
    const start = indexOf.get(firstRow);
    const text = start === undefined ? undefined : rows[start]?.cells[column];
    if (start === undefined || text === undefined || text === '') continue;
    for (let index = start + 1; (rows[index]?.row ?? Number.POSITIVE_INFINITY) <= lastRow; index++) {
      const below = rows[index];
      if (below === undefined || (below.cells[column] ?? '') !== '') continue;
      if (++fills > 200_000) throw damaged('its merged cells overlap');
      while (below.cells.length <= column) below.cells.push('');
      below.cells[column] = text;
      below.flaws.push({ kind: 'merged', column });
    }
  }
  const whole: TableRow[] = [];
  let empty = 0;
  for (const row of rows) {
    for (let number = (whole.at(-1)?.row ?? 0) + 1; number < row.row && empty < mostEmptyRows; number++, empty++) {
      whole.push({ row: number, cells: [] });
    }
    whole.push(row);
  }
  return whole;
}
