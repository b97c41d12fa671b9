import { type Finding, finding } from '../../findings/finding.ts';
import type { RoomField } from '../../model/room.ts';
import type { RoundRoom } from '../../model/round.ts';
import type { RoundRecord, Visit } from '../../model/round-record.ts';
import { cleanCell, placeInWords, type TableRow } from '../list/list-table.ts';
import { comparable, wordsOf } from '../records/find-room.ts';
import type { SaidOutcome, VisitWish } from '../records/make-visit.ts';
import type { RoundRecordWithoutDigest } from '../records/own-digests.ts';
import type { FilledColumns, FilledField } from './filled-columns.ts';
import { type FilledOutcome, readOutcome } from './outcome-words.ts';

/** What is needed to understand a row. */
interface FilledContext {
  readonly source: string;
  readonly places: 'lines' | 'cells';
  readonly columns: FilledColumns;
  readonly rooms: readonly RoundRoom[];
  /** RFC 3339 from what a person writes; undefined where it is no time. */
  readonly readTime: (text: string) => string | undefined;
  /** For rows that do not say. */
  readonly otherwise: { readonly at: string; readonly who: string };
}

/** What the row itself says; the defaults are not among it. */
export interface FilledRow {
  readonly row: number;
  readonly place: string;
  readonly wish: VisitWish;
  readonly said: { readonly at: string | undefined; readonly who: string | undefined };
}

type FilledRowReading =
  | { readonly state: 'empty' }
  | { readonly state: 'bad'; readonly finding: Finding }
  | { readonly state: 'filled'; readonly filled: FilledRow };

/** One row of a filled-in list. */
export function readFilledRow(row: TableRow, context: FilledContext): FilledRowReading {
  const { columns, otherwise, source } = context;
  const cell = (column: number | undefined): string =>
    column === undefined ? '' : unguarded(cleanCell(row.cells[column] ?? '', true).text);
  const filled = (field: FilledField): string => cell(columns.filled[field]);
  const panel = (field: RoomField): string => cell(columns.panel[field]);
  const placeOf = (field: FilledField | 'room'): string => {
    const column = field === 'room' ? columns.panel.room : columns.filled[field];
    return placeInWords(context.places, row.row, column, column === undefined ? undefined : columns.headings[column]);
  };
  const bad = (field: FilledField | 'room', problem: string, mend: string): FilledRowReading => ({
    state: 'bad',
    finding: finding('record/bad-cell', source, {
      place: placeOf(field),
      text: field === 'room' ? panel('room') : filled(field),
      problem,
      mend,
    }),
  });

  const outcome = readOutcome(filled('outcome'));
  if (outcome === undefined)
    return bad('outcome', 'is no outcome', 'Write done, failed or skipped, or leave it empty.');
  const build = filled('build');
  if (outcome === 'nothing' && build === '') {
    return filled('outcome') === '' && filled('words') !== ''
      ? bad('outcome', 'is empty, but there are words', 'Write done, failed or skipped.')
      : { state: 'empty' };
  }
  if (outcome !== 'done' && outcome !== 'nothing' && outcome !== 'not-yet' && build !== '') {
    return bad('build', `is a build after, but the outcome is ${outcome}`, 'Correct the outcome, or empty the build.');
  }
  if (panel('room') === '') return bad('room', 'names no room', 'Write the room as the list had it.');
  const whose = roomWords(panel, context.rooms);
  // Of a room that waits for its stick, "not yet" says nothing.
  if (outcome === 'not-yet' && context.rooms.some(({ key, state }) => key === whose.room && state !== 'over-the-air')) {
    return { state: 'empty' };
  }
  const time = filled('at');
  const at = time === '' ? undefined : context.readTime(time);
  if (time !== '' && at === undefined) {
    return bad('at', 'is no time', 'Write it as 2026-11-03 07:40, or 07:40 for today.');
  }
  if (at !== undefined && Date.parse(at) > Date.parse(otherwise.at) + 5 * 60_000) {
    return bad('at', 'lies in the future', 'Correct the day or the time.');
  }
  const who = filled('who') === '' ? undefined : filled('who');
  const wish: VisitWish = {
    ...whose,
    outcome: outcomeOf(outcome, build, filled('words')),
    stick: filled('stick') === '' ? undefined : filled('stick'),
    before: undefined,
    wiped: undefined,
    note: outcome === 'failed' || outcome === 'skipped' ? undefined : filled('words') || undefined,
    at: at ?? otherwise.at,
    who: who ?? otherwise.who,
  };
  const place = placeInWords(context.places, row.row);
  return { state: 'filled', filled: { row: row.row, place, wish, said: { at, who } } };
}

/** The apostrophe that an export puts before what a spreadsheet would run. */
const unguarded = (text: string): string => (/^'[=+\-@\t\r\uFF1D\uFF0B\uFF0D\uFF20]/.test(text) ? text.slice(1) : text);

function outcomeOf(outcome: FilledOutcome, build: string, words: string): SaidOutcome {
  if (outcome === 'failed' || outcome === 'skipped') return { kind: outcome, text: words };
  if (outcome === 'not-yet') return { kind: outcome, build: build === '' ? undefined : build };
  return { kind: 'done', build: build === '' ? undefined : build };
}

/** The one room that agrees with every cell that says something; else the words as they stand, for the usual search. */
function roomWords(
  panel: (field: RoomField) => string,
  rooms: readonly RoundRoom[],
): Pick<VisitWish, 'room' | 'label' | 'serial'> {
  const said = { room: panel('room'), label: panel('label'), serial: panel('serial'), asset: panel('asset') };
  const name = comparable(said.room);
  const [only, ...others] = rooms.filter(
    (room) =>
      wordsOf(room).names.includes(name) &&
      agrees(said.label, room.label) &&
      agrees(said.serial, room.serial) &&
      agrees(said.asset, room.asset),
  );
  const hint = { label: said.label || undefined, serial: said.serial || undefined };
  return { room: only !== undefined && others.length === 0 ? only.key : said.room, ...hint };
}

const agrees = (text: string, listed: string | null): boolean =>
  text === '' || text === listed || (listed !== null && comparable(text) === comparable(listed));

type Wanted = Extract<RoundRecordWithoutDigest, { kind: 'visit' | 'looked' | 'approval' }>;

/**
 * The record that says already what a row says: everything that the row names is equal; a minute is as exact as a list
 * is.
 */
export function findKnown(row: FilledRow, wanted: Wanted, records: readonly RoundRecord[]): Visit | undefined {
  if (wanted.kind === 'approval') return undefined;
  const { said, wish } = row;
  return records.find(
    (record): record is Visit =>
      record.kind === wanted.kind &&
      (record.id === wanted.id ||
        (record.room === wanted.room &&
          record.outcome === wanted.outcome &&
          record.buildAfter === wanted.buildAfter &&
          plain(record.text) === plain(wanted.text) &&
          (wish.stick === undefined || record.stick === wanted.stick) &&
          (said.who === undefined || record.who === said.who) &&
          (said.at === undefined || minuteOf(record.at) === minuteOf(said.at)))),
  );
}

const minuteOf = (at: string): number => Math.floor(Date.parse(at) / 60_000);
const plain = (text: string | null): string => (text ?? '').replace(/\s+/g, ' ').trim();

/** What makes the id of a row's record: the same row of the same list has the same id, at every desk. */
export const contentOfRow = ({ said, wish }: FilledRow, wanted: Wanted): string =>
  JSON.stringify([
    'stickwright/filled-row/1',
    wanted.room,
    ...(wanted.kind !== 'approval'
      ? [wanted.outcome, wanted.buildAfter, plain(wanted.text), wish.stick ?? null]
      : [wanted.kind, wanted.by]),
    said.at === undefined ? null : minuteOf(said.at),
    said.who ?? null,
  ]);

/** A UUID of version 8 (RFC 9562, section 5.8) from the first bits of a SHA-256. */
export function idFromDigest(sha256: string): string {
  const variant = '89ab'[Number.parseInt(sha256.charAt(16), 16) % 4];
  return [
    sha256.slice(0, 8),
    sha256.slice(8, 12),
    `8${sha256.slice(13, 16)}`,
    `${variant}${sha256.slice(17, 20)}`,
    sha256.slice(20, 32),
  ].join('-');
}
