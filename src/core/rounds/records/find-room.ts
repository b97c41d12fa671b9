import { distance } from 'fastest-levenshtein';
import type { RoundRoom } from '../../model/round.ts';
import { foldLookAlikes, normaliseLabel, upperForComparing } from '../../text/label-text.ts';
import { readCardCode } from './card-code.ts';

/** What tells two panels of one room apart, as it stands on the panel. */
export interface PanelHint {
  readonly label: string | undefined;
  readonly serial: string | undefined;
}

export type RoomAnswer =
  | {
      readonly state: 'one';
      readonly room: RoundRoom;
      /** From the code of a card. */
      readonly stick: string | undefined;
    }
  | { readonly state: 'several'; readonly rooms: readonly RoundRoom[] }
  /** `near`: to be shown, never to be taken. */
  | { readonly state: 'none'; readonly near: readonly RoundRoom[] };

/**
 * The room that a person means: the whole name, key, asset tag, serial, or the scanned code of a card; else whole words
 * of the name (`2.14` for `Room 2.14`), else a beginning; each only where exactly one room fits.
 */
export function findRoom(typed: string, rooms: readonly RoundRoom[], hint: PanelHint): RoomAnswer {
  const code = readCardCode(typed);
  if (code !== undefined) {
    const named = rooms.filter(({ key }) => code.rooms.includes(key));
    const answer = answerOf(named, rooms, hint, code.rooms[0] ?? typed);
    return answer.state === 'one' ? { ...answer, stick: code.stick ?? undefined } : answer;
  }
  const wanted = comparable(typed);
  if (wanted === '') return { state: 'none', near: [] };
  for (const fits of levels) {
    const found = rooms.filter((room) => fits(room, wanted));
    if (found.length > 0) return answerOf(found, rooms, hint, typed);
  }
  return answerOf([], rooms, hint, typed);
}

type Fits = (room: RoundRoom, wanted: string) => boolean;

interface RoomWords {
  readonly names: readonly string[];
  readonly ids: readonly string[];
}

/** A long list asks for every room as often as it has rows. */
const known = new WeakMap<RoundRoom, RoomWords>();

/** The names and numbers of a room, ready to compare with `comparable`. */
export function wordsOf(room: RoundRoom): RoomWords {
  const found = known.get(room);
  if (found !== undefined) return found;
  const words = {
    names: [...new Set([room.key, room.room].map(comparable))],
    ids: [room.asset, room.serial].flatMap((id) => (id === null ? [] : [comparable(id)])),
  };
  known.set(room, words);
  return words;
}

/** The surest first; the first level at which anything fits decides. */
const levels: readonly Fits[] = [
  (room, wanted) => wordsOf(room).names[0] === wanted,
  (room, wanted) => wordsOf(room).names.includes(wanted) || wordsOf(room).ids.includes(wanted),
  (room, wanted) => wordsOf(room).names.some((name) => hasWords(name, wanted)),
  (room, wanted) => wordsOf(room).names.some((name) => name.startsWith(wanted) && !cutsNumber(name, wanted)),
  // Serials are typed up to where they differ.
  (room, wanted) => wanted.length >= 4 && wordsOf(room).ids.some((id) => id.startsWith(wanted)),
];

const hasWords = (name: string, wanted: string): boolean => ` ${name} `.includes(` ${wanted} `);

/** `Room 2.1` is not the beginning of `Room 2.14`: a number that goes on is another number. */
const cutsNumber = (name: string, wanted: string): boolean =>
  /\d$/.test(wanted) && /^\d/.test(name.slice(wanted.length));

export const comparable = (text: string): string => upperForComparing(normaliseLabel(text));

function answerOf(
  found: readonly RoundRoom[],
  rooms: readonly RoundRoom[],
  { label, serial }: PanelHint,
  typed: string,
): RoomAnswer {
  const isSame = (a: string | null, b: string | undefined): boolean =>
    b === undefined || (a !== null && comparable(a) === comparable(b));
  const [first, ...others] = found;
  if (first === undefined) {
    return { state: 'none', near: nearMisses(typed, rooms, (room) => [...wordsOf(room).names, ...wordsOf(room).ids]) };
  }
  if (others.length === 0) return { state: 'one', room: first, stick: undefined };
  const told = found.filter((room) => isSame(room.label, label) && isSame(room.serial, serial));
  const [only, ...more] = told;
  if (only !== undefined && more.length === 0) return { state: 'one', room: only, stick: undefined };
  return { state: 'several', rooms: told.length > 0 ? told : found };
}

/** Enough to choose by: `Room 2.14, K2-second 75/5B, asset QSA-10214, serial SD75B-2291-0087`. */
export const roomInWords = ({ key, label, asset, serial }: RoundRoom): string =>
  [key, label, asset && `asset ${asset}`, serial && `serial ${serial}`].filter(Boolean).join(', ');

/** How many to show: more is a list nobody reads. */
const most = 5;

/** The candidates that a person may have meant, the nearest first: for showing, never for taking. */
export function nearMisses<One>(
  typed: string,
  candidates: readonly One[],
  textsOf: (one: One) => readonly string[],
): readonly One[] {
  const wanted = foldLookAlikes(typed.trim());
  const farthest = Math.max(1, Math.floor(wanted.length / 3));
  return candidates
    .map((one) => ({ one, far: Math.min(...textsOf(one).map((text) => farness(wanted, text))) }))
    .filter(({ far }) => far <= farthest)
    .toSorted((a, b) => a.far - b.far)
    .slice(0, most)
    .map(({ one }) => one);
}

/**
 * Edits to the text or to as many of its words as were typed; what contains the typed words as they stand is near, too.
 */
function farness(wanted: string, text: string): number {
  const other = foldLookAlikes(text.trim());
  if (wanted.length >= 2 && other.includes(wanted)) return 1;
  const words = other.split(' ');
  const count = wanted.split(' ').length;
  const runs = words.slice(count - 1).map((_, at) => words.slice(at, at + count).join(' '));
  return Math.min(...[other, ...runs].map((run) => distance(wanted, run)));
}
