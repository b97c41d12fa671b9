import { type Finding, finding, inOrder, textsOf } from '../../findings/finding.ts';
import { type Room, type RoomList, type UnusedRow, wayFields } from '../../model/room.ts';
import { normaliseLabel, upperForComparing } from '../../text/label-text.ts';
import { groupBy } from '../../text/words.ts';
import type { RowContext } from './judge-cells.ts';
import { normaliseHeading, placeInWords, type TableRow } from './list-table.ts';
import { type PanelRow, readRow } from './read-row.ts';

/**
 * The rooms of the rows below the headings; what is wrong with the others is in the findings, in the order of the rows.
 */
export function readRooms(
  rows: readonly TableRow[],
  given: Omit<RowContext, 'usualCells'>,
): Pick<RoomList, 'rooms' | 'unused'> & { readonly findings: readonly Finding[] } {
  const findings: Finding[] = [];
  const unused: UnusedRow[] = [];
  const panels: PanelRow[] = [];
  const namedRooms: string[] = [];
  const odd: { row: number; column: number }[] = [];
  const filled = rows.filter(isFilled);
  const context = { ...given, usualCells: usualCellsOf(filled, given.headings.length) };
  for (const row of filled) {
    if (isHeadingsAgain(row, context.headings)) {
      const where = { place: placeInWords(context.places, row.row) };
      const again = finding('room/headings-again', `${context.source}:${row.row}`, where);
      findings.push(again);
      unused.push({ row: row.row, why: 'no-room', room: '', reason: reasonOf([again]) });
      continue;
    }
    const reading = readRow(row, context);
    findings.push(...reading.findings);
    odd.push(...reading.oddSpaces.map((column) => ({ row: row.row, column })));
    if (reading.panel !== undefined) {
      panels.push(reading.panel);
      continue;
    }
    const isNoRoom = reading.findings.some(({ code }) => code === 'room/total-row');
    if (reading.room !== '') namedRooms.push(reading.room);
    const why = isNoRoom ? 'no-room' : 'unusable';
    unused.push({ row: row.row, why, room: reading.room, reason: reasonOf(reading.findings) });
  }
  const compared = comparePanels(panels, context.source, (row) => placeInWords(context.places, row));
  namedRooms.push(...panels.filter((one) => !compared.repeated.has(one)).map(({ room }) => room));
  return {
    rooms: nameRooms(compared.panels, namedRooms),
    unused: [...unused, ...compared.unused].toSorted((a, b) => a.row - b.row),
    findings: [...findings, ...compared.findings, ...rowsInSum(rows, context), ...oddSpacesIn(odd, context)],
  };
}

/** The gravest of them, in a sentence and with its cure. */
function reasonOf(findings: readonly Finding[]): string {
  const [first] = inOrder(findings);
  if (first === undefined) return '';
  const { seen, todo } = textsOf(first);
  return `${seen} ${todo}`;
}

const isFilled = ({ cells }: TableRow): boolean => cells.some((cell) => cell.trim() !== '');

/**
 * Every row may end with one more delimiter than the headings, or with a column that has none; then that is no fault.
 */
function usualCellsOf(rows: readonly TableRow[], headings: number): number {
  const byCount = groupBy(rows, ({ cells }) => cells.length);
  const [most] = [...byCount].toSorted(([, a], [, b]) => b.length - a.length);
  return most !== undefined && most[1].length >= 3 && most[1].length * 2 > rows.length ? most[0] : headings;
}

function isHeadingsAgain({ cells }: TableRow, headings: readonly string[]): boolean {
  const named = headings.flatMap((heading, column) => (heading.trim() === '' ? [] : [column]));
  return (
    named.length > 1 &&
    named.every((column) => normaliseHeading(cells[column] ?? '') === normaliseHeading(headings[column] ?? ''))
  );
}

/** What is said once of many rows: empty, hidden and merged ones. */
function rowsInSum(rows: readonly TableRow[], { source, places, headings }: RowContext): readonly Finding[] {
  const last = rows.findLastIndex(isFilled);
  const empty = rows.slice(0, last + 1).filter((row) => !isFilled(row));
  const hidden = rows.filter((row) => isFilled(row) && row.flaws?.some(({ kind }) => kind === 'hidden'));
  const merged = rows.flatMap(({ row, flaws = [] }) =>
    flaws.flatMap((flaw) =>
      flaw.kind === 'merged' ? [placeInWords(places, row, flaw.column, headings[flaw.column])] : [],
    ),
  );
  const inWords = (some: readonly TableRow[]) => some.map(({ row }) => placeInWords(places, row));
  return [
    ...(empty.length === 0 ? [] : [finding('room/empty-rows', source, { rows: inWords(empty) })]),
    ...(hidden.length === 0 ? [] : [finding('room/hidden-rows', source, { rows: inWords(hidden) })]),
    ...(merged.length === 0 ? [] : [finding('room/merged-rows', source, { cells: merged })]),
  ];
}

function oddSpacesIn(
  odd: readonly { readonly row: number; readonly column: number }[],
  { source, places, headings }: RowContext,
): readonly Finding[] {
  if (odd.length === 0) return [];
  const columns = [...new Set(odd.map(({ column }) => `"${(headings[column] ?? '').trim()}"`))];
  const examples = odd.map(({ row, column }) => placeInWords(places, row, column));
  return [finding('room/odd-spaces', source, { count: odd.length, columns, examples })];
}

/**
 * Gives each panel its key. A room that the list names once is its own key. Where it is named more often, also by a row
 * that is left out, the asset tag stands behind it, else the serial number, else the label: so the key does not change
 * when the bad row is mended. `namedRooms` are the rooms of all rows.
 */
function nameRooms(panels: readonly PanelRow[], namedRooms: readonly string[]): readonly Room[] {
  const times = new Map<string, number>();
  for (const room of namedRooms) times.set(forComparing(room), (times.get(forComparing(room)) ?? 0) + 1);
  const taken = new Set<string>();
  return panels.map((panel) => {
    const alone = (times.get(forComparing(panel.room)) ?? 0) < 2;
    const key = alone ? panel.room : `${panel.room} · ${panel.asset ?? panel.serial ?? panel.label}`;
    const unique = firstFree(key, panel, taken);
    taken.add(forComparing(unique));
    return { key: unique, ...panel };
  });
}

/** A room may be called as another panel's key; then both its numbers, and at last its row, tell it apart. */
function firstFree(key: string, panel: PanelRow, taken: ReadonlySet<string>): string {
  const numbers = [panel.asset, panel.serial].filter((number) => number !== undefined);
  const choices = [key, [panel.room, ...numbers, panel.label].join(' · '), `${key} · row ${panel.row}`];
  return choices.find((choice) => !taken.has(forComparing(choice))) ?? `${key} · ${panel.row}`;
}

interface Compared {
  /** The rows that stand, in their order. */
  readonly panels: readonly PanelRow[];
  /** Second copies of rows; they name no further panel. */
  readonly repeated: ReadonlySet<PanelRow>;
  readonly unused: readonly UnusedRow[];
  readonly findings: readonly Finding[];
}

/** A room, a label or a number for comparing. */
const forComparing = (text: string): string => upperForComparing(normaliseLabel(text));

const numberForComparing = (text: string | undefined): string | undefined =>
  text === undefined ? undefined : forComparing(text).replaceAll(' ', '');

/**
 * Rows against each other: the same panel twice, one number on two panels, panels that nothing tells apart. Of rows
 * that contradict each other none stands. PLACE says where a row is.
 */
function comparePanels(panels: readonly PanelRow[], source: string, place: (row: number) => string): Compared {
  const findings: Finding[] = [];
  const unused = new Map<PanelRow, UnusedRow>();
  /** Says it of all of them, and that these rows do not stand. */
  const say = (found: Finding, rows: readonly PanelRow[], why: UnusedRow['why'] = 'unusable'): void => {
    findings.push(found);
    for (const one of rows)
      if (!unused.has(one)) unused.set(one, { row: one.row, why, room: one.room, reason: reasonOf([found]) });
  };
  const together = (rows: readonly PanelRow[]) => ({
    places: rows.map(({ row }) => place(row)),
    rooms: rows.map(({ room }) => room),
  });
  const subject = (rows: readonly PanelRow[]): string => `${source}:${rows[0]?.row ?? 0}`;

  const twins = severalOf(panels, (one) => (hasNumber(one) ? storyOf(one) : undefined));
  for (const rows of twins) say(finding('room/row-twice', subject(rows), together(rows)), rows.slice(1), 'repeated');
  const repeated = new Set(twins.flatMap((rows) => rows.slice(1)));
  const single = panels.filter((one) => !repeated.has(one));

  for (const rows of severalOf(single, ({ serial }) => numberForComparing(serial))) {
    const facts = { ...together(rows), number: rows[0]?.serial ?? '' };
    const inOneRoom = new Set(rows.map(({ room }) => forComparing(room))).size === 1;
    say(
      inOneRoom
        ? finding('room/panel-twice', subject(rows), facts)
        : finding('room/serial-in-two-rooms', subject(rows), facts),
      rows,
    );
  }
  for (const rows of severalOf(single, ({ asset }) => numberForComparing(asset))) {
    if (rows.every((one) => unused.has(one))) continue;
    say(finding('room/asset-twice', subject(rows), { ...together(rows), number: rows[0]?.asset ?? '' }), rows);
  }
  const numberless = single.filter((one) => !hasNumber(one));
  for (const rows of severalOf(numberless, ({ room, label }) => `${forComparing(room)}\n${forComparing(label)}`)) {
    say(finding('room/panels-alike', subject(rows), together(rows)), rows);
  }
  const panelsLeft = single.filter((one) => !unused.has(one));
  return { panels: panelsLeft, repeated, unused: [...unused.values()], findings };
}

const hasNumber = ({ serial, asset }: PanelRow): boolean => serial !== undefined || asset !== undefined;

/** Everything that decides what happens to the panel; notes may differ. */
const storyOf = ({ room, label, running, serial, asset, mode, approval, answers }: PanelRow): string =>
  JSON.stringify([
    forComparing(room),
    forComparing(label),
    running === undefined ? null : forComparing(running),
    numberForComparing(serial) ?? null,
    numberForComparing(asset) ?? null,
    mode ?? null,
    approval ?? null,
    wayFields.map((field) => answers[field] ?? null),
  ]);

function severalOf(
  panels: readonly PanelRow[],
  keyOf: (panel: PanelRow) => string | undefined,
): readonly (readonly PanelRow[])[] {
  const keyed = panels.filter((one) => keyOf(one) !== undefined);
  return [...groupBy(keyed, (one) => keyOf(one) ?? '').values()].filter((rows) => rows.length > 1);
}
