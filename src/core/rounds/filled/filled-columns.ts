import type { RoomField } from '../../model/room.ts';
import { wordList } from '../../text/words.ts';
import { normaliseHeading, type TableRow } from '../list/list-table.ts';
import { matchColumns } from '../list/match-columns.ts';

export const filledFields = ['outcome', 'build', 'at', 'who', 'stick', 'words'] as const;

/** What a person fills in, and what an export writes. */
export type FilledField = (typeof filledFields)[number];

/** The headings that an export adds to the list; they are read again from a filled-in list. */
export const filledHeadings: Readonly<Record<FilledField, string>> = {
  outcome: 'Outcome',
  build: 'Build after',
  at: 'Done at',
  who: 'Who',
  stick: 'Stick',
  words: 'Words',
};

/** The heading where the owner's list has one of that name for something else. */
export const ownHeading = (field: FilledField): string => `${filledHeadings[field]} (round)`;

/** Usual headings of such columns, in the languages in which lists are usually kept (common practice, no source). */
const usualHeadings: Readonly<Record<FilledField, readonly string[]>> = {
  outcome: wordList(`
    result, done, status, state, ok, how it went,
    ergebnis, erledigt, resultat, resultado, risultato, uitkomst, resultaat, wynik, utfall, tulos
  `),
  build: wordList(`
    new build, build new, after, version after, new version, build afterwards, firmware after,
    build nachher, neuer build, nachher, version nachher, neue version, build danach, firmware nachher,
    version apres, apres, nouvelle version, build despues, version nueva, nuova versione, nieuwe versie, nowa wersja
  `),
  at: wordList(`
    time, when, date, date and time, datetime, updated at, date done,
    zeit, uhrzeit, datum, wann, zeitpunkt, heure, date et heure, fecha, hora, data, ora, tijd, godzina
  `),
  who: wordList(`
    by, done by, initials, technician, name, tech,
    wer, durch, techniker, kurzel, kuerzel, bearbeiter, qui, technicien, quien, tecnico, chi, wie, monteur, kto
  `),
  stick: [
    'stick code',
    'usb',
    'usb stick',
    'stick no',
    'stick nr',
    'cle',
    'cle usb',
    'memoria usb',
    'chiavetta',
    'pendrive',
  ],
  words: wordList(`
    exact words, message, error, reason, what it said, error text, error message, text,
    meldung, fehler, fehlermeldung, grund, erreur, raison, mensaje, motivo, messaggio, errore, melding, reden,
    komunikat
  `),
};

export interface FilledColumns {
  readonly index: number;
  readonly headings: readonly string[];
  readonly panel: Readonly<Partial<Record<RoomField, number>>>;
  readonly filled: Readonly<Partial<Record<FilledField, number>>>;
}

/** Headings stand within the first rows of a list. */
const rowsToSearch = 30;

/**
 * The row of headings, and which column holds what; or what is missing in the row that comes nearest. `rooms`: the
 * list's own heading for the room.
 */
export function findFilledColumns(
  rows: readonly TableRow[],
  rooms: string | undefined,
): FilledColumns | { readonly missing: readonly string[]; readonly first: readonly string[] } {
  const read = rows.slice(0, rowsToSearch).map((row, index) => columnsOf(row.cells, index, rooms));
  const whole = read.find(({ panel, filled }) => panel.room !== undefined && hasAnswer(filled));
  if (whole !== undefined) return whole;
  const near = read.find(({ panel }) => panel.room !== undefined) ?? read.find(({ filled }) => hasAnswer(filled));
  const missing = [
    ...(near?.panel.room === undefined ? ['the room'] : []),
    ...(near === undefined || !hasAnswer(near.filled) ? ['the outcome or the build after'] : []),
  ];
  const first = (near?.headings ?? rows[0]?.cells ?? []).map((cell) => cell.trim()).filter((cell) => cell !== '');
  return { missing, first: first.slice(0, 20) };
}

const hasAnswer = ({ outcome, build }: FilledColumns['filled']): boolean =>
  outcome !== undefined || build !== undefined;

function columnsOf(headings: readonly string[], index: number, rooms: string | undefined): FilledColumns {
  const words = headings.map(normaliseHeading);
  const taken = new Set<number>();
  const filled: Partial<Record<FilledField, number>> = {};
  for (const list of [roundHeadings, ownHeadings, usual]) {
    for (const field of filledFields) {
      if (filled[field] !== undefined) continue;
      const column = words.findIndex((word, at) => !taken.has(at) && list[field].has(word));
      if (column === -1) continue;
      filled[field] = column;
      taken.add(column);
    }
  }
  const free = headings.map((heading, at) => (taken.has(at) ? '' : heading));
  const panel = { ...matchColumns(free).columns };
  const own = rooms === undefined ? -1 : words.indexOf(normaliseHeading(rooms));
  if (own !== -1) panel.room = own;
  return { index, headings, panel, filled };
}

type Sets = Readonly<Record<FilledField, ReadonlySet<string>>>;

function setsOf(wordsFor: (field: FilledField) => readonly string[]): Sets {
  const setFor = (field: FilledField): ReadonlySet<string> => new Set(wordsFor(field).map(normaliseHeading));
  return {
    outcome: setFor('outcome'),
    build: setFor('build'),
    at: setFor('at'),
    who: setFor('who'),
    stick: setFor('stick'),
    words: setFor('words'),
  };
}

const roundHeadings = setsOf((field) => [ownHeading(field)]);
const ownHeadings = setsOf((field) => [filledHeadings[field]]);
const usual = setsOf((field) => usualHeadings[field]);
