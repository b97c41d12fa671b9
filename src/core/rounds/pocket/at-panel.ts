import { compareEntries } from '../../label/compare-fit.ts';
import { findMisreads } from '../../label/find-misreads.ts';
import { readLabel } from '../../label/read-label.ts';
import type { Family } from '../../model/family.ts';
import type { RoundRoom } from '../../model/round.ts';
import { isSameLabel } from '../../text/label-text.ts';
import type { RoomCard } from '../cards/make-cards.ts';
import { readCardCode } from '../records/card-code.ts';
import { normaliseStickCode } from '../records/order-records.ts';
import type { Pocket } from './make-pocket.ts';

/** What a stick is for this room, by its code as it was typed or scanned. */
export type StickAnswer =
  /** `tag`: the file does not know it, and its tag names this load and this room: it was prepared later. */
  | { readonly state: 'right'; readonly stick: string; readonly by: 'file' | 'tag' }
  /** `load`: letter of what it carries, where that is known. */
  | { readonly state: 'wrong'; readonly stick: string; readonly load: string | undefined }
  /** The file does not know it, and nothing but its code was said. */
  | { readonly state: 'unknown'; readonly stick: string }
  /** It is the code of a room's card, or of a tag before its stick was prepared: it names no stick that is at hand. */
  | { readonly state: 'no-stick' };

/** Whether the stick with this code, as it was typed or its tag was scanned, is the one of this card. */
export function judgeStick(
  typed: string,
  card: RoomCard,
  { round, records, roomsOfLoad }: Pick<Pocket, 'round' | 'records' | 'roomsOfLoad'>,
): StickAnswer {
  const code = readCardCode(typed);
  // A card names its one room; a tag names every room of its load.
  const isCard = code?.rooms.length === 1 && code.more === 0 && (roomsOfLoad[code.load] ?? 1) > 1;
  if (isCard || code?.stick === null) return { state: 'no-stick' };
  const stick = code?.stick ?? normaliseStickCode(typed);
  if (card.sticks.includes(stick)) return { state: 'right', stick, by: 'file' };
  const prepared = records.findLast((record) => record.kind === 'prepared' && record.stick === stick);
  if (prepared?.kind === 'prepared') {
    const load = round.loads.find(
      (one) => one.package.sha256 === prepared.package?.sha256 && one.mode === prepared.mode,
    );
    return { state: 'wrong', stick, load: load?.id ?? prepared.load };
  }
  if (code === undefined) return { state: 'unknown', stick };
  const isForRoom = code.rooms.includes(card.room.key) || code.more > 0;
  return code.load === card.load.id && isForRoom
    ? { state: 'right', stick, by: 'tag' }
    : { state: 'wrong', stick, load: code.load };
}

/** The label of the list beside the one that was read off the plate. */
export interface PlateAnswer {
  /** `misread`: only characters that look alike differ, or blanks and dashes; that is no agreement. */
  readonly answer: 'agree' | 'misread' | 'differ';
  readonly listed: string;
  readonly typed: string;
  /** The first character in which they differ, from 0. */
  readonly at: number | undefined;
  /** Title of the family that reads what was typed, and its parts; undefined where none does. */
  readonly reads: { readonly family: string; readonly parts: Readonly<Record<string, string>> } | undefined;
  /** Labels that what was typed may be a misreading of. */
  readonly near: readonly string[];
  /** Names of this person's other rooms that have such a label. */
  readonly elsewhere: readonly string[];
}

export function judgePlate(
  typed: string,
  room: RoundRoom,
  { families, round }: { readonly families: readonly Family[]; readonly round: Pocket['round'] },
): PlateAnswer {
  const entries = compareEntries(room.label, typed);
  const [reading] = readLabel(typed, families).readings;
  const near = entries.answer === 'agree' ? [] : findMisreads(typed, families).map(({ normalised }) => normalised);
  const isNear = near.some((label) => isSameLabel(label, entries.first)) && reading === undefined;
  const others = round.rooms.filter(
    ({ key, label }) => key !== room.key && compareEntries(label, typed).answer === 'agree',
  );
  return {
    answer: entries.answer === 'differ' && isNear ? 'misread' : entries.answer,
    listed: entries.first,
    typed: entries.second,
    at: entries.at,
    reads: reading === undefined ? undefined : { family: reading.family.title, parts: reading.parts },
    near,
    elsewhere: entries.answer === 'agree' ? [] : others.map((one) => one.room),
  };
}
