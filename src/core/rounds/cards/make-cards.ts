import { type Finding, finding } from '../../findings/finding.ts';
import type { Load, Round, RoundRoom } from '../../model/round.ts';
import type { RoundRecord } from '../../model/round-record.ts';
import { doubtsOfLoad, sticksOf, withoutWithdrawn } from '../plan/stick-codes.ts';
import { writeCardCode } from '../records/card-code.ts';
import { roomFinder } from '../records/order-records.ts';

/** What the card of one room and one stick says. A room that takes two sticks, one after the other, has two cards. */
export interface RoomCard {
  readonly room: RoundRoom;
  readonly load: Load;
  /** Codes of the sticks that carry the load, the latest first; empty where none was prepared yet. */
  readonly sticks: readonly string[];
  /** Which of this room's sticks it is, from 1. */
  readonly step: number;
  readonly steps: number;
  /** Why there is a stick before the last one. */
  readonly because: string | null;
  /** Null: somebody reads it off the About page. */
  readonly buildBefore: string | null;
  /** What the panel has after this stick. */
  readonly build: string;
  /** Letter of the load that comes next at this panel. */
  readonly nextLoad: string | null;
  readonly approval: string | null;
  /** Codes of what nobody could prove of the load or of its sticks. */
  readonly unproven: readonly string[];
  /** What its machine-readable code says. */
  readonly code: string;
}

/** The cards of every room that takes a stick, in the order of the list; ONLY keeps those of some rooms. */
export function makeCards(
  round: Round,
  records: readonly RoundRecord[],
  only?: ReadonlySet<string>,
): readonly RoomCard[] {
  const approvalOf = approvalFinder(round, records);
  const loads = new Map(round.loads.map((load) => [load.id, load]));
  const sticks = new Map(round.loads.map((load) => [load.id, sticksOf(load, records)]));
  return round.rooms
    .filter((room) => room.state === 'update' && (only === undefined || only.has(room.key)))
    .flatMap((room) =>
      room.steps.map((step, index): RoomCard => {
        const load = loads.get(step.load);
        if (load === undefined) throw new TypeError(`the plan has no load ${step.load}`);
        const carrying = sticks.get(step.load) ?? [];
        const codes = carrying.map(({ stick }) => stick ?? '');
        return {
          room,
          load,
          sticks: codes,
          step: index + 1,
          steps: room.steps.length,
          because: step.because,
          buildBefore: index === 0 ? room.running : (room.steps[index - 1]?.build ?? null),
          build: step.build,
          nextLoad: room.steps[index + 1]?.load ?? null,
          approval: approvalOf(room),
          unproven: doubtsOfLoad(load, carrying),
          code: writeCardCode({ load: load.id, stick: codes[0] ?? null, rooms: [room.key], more: 0 }),
        };
      }),
    );
}

/** What the card of a room says that updates itself: no stick is brought, and somebody looks later. */
export interface LookCard {
  readonly room: RoundRoom;
  readonly reason: string;
  /** What to switch on, and when to look again. */
  readonly todo: readonly string[];
  /** The build to expect; null where nobody says. */
  readonly build: string | null;
  readonly code: string;
}

/** In the place of a load's letter, which such a card has none of. */
const inPlaceOfLoad = 'AIR';

/** The cards of every room that updates itself, in the order of the list; ONLY keeps those of some rooms. */
export const makeLookCards = (round: Round, only?: ReadonlySet<string>): readonly LookCard[] =>
  round.rooms
    .filter((room) => room.state === 'over-the-air' && (only === undefined || only.has(room.key)))
    .map((room) => ({
      room,
      reason: room.way?.reason ?? '',
      todo: room.way?.todo ?? [],
      build: room.target,
      code: writeCardCode({ load: inPlaceOfLoad, stick: null, rooms: [room.key], more: 0 }),
    }));

/** Says who approved the wipe of a room: the latest record, else the room list; null where nobody did. */
export function approvalFinder(round: Round, records: readonly RoundRecord[]): (room: RoundRoom) => string | null {
  const roomOf = roomFinder(round);
  const said = withoutWithdrawn(records)
    .flatMap((record) => (record.kind === 'approval' ? [record] : []))
    .sort((a, b) => Date.parse(a.at) - Date.parse(b.at));
  const byRoom = new Map(said.map((record) => [roomOf(record)?.key, record.by]));
  return (room) => byRoom.get(room.key) ?? room.approval;
}

/** What a person should know before the printed cards are carried away. PAGES are those of each card. */
export function checkCards(cards: readonly RoomCard[], pages: readonly number[], name: string): readonly Finding[] {
  const roomsOf = (some: readonly RoomCard[]): readonly string[] => [...new Set(some.map(({ room }) => room.key))];
  const unapproved = roomsOf(cards.filter(({ load, approval }) => load.wipes && approval === null));
  const loads = [...new Set(cards.filter(({ sticks }) => sticks.length === 0).map(({ load }) => load.id))];
  const long = roomsOf(cards.filter((_, index) => (pages[index] ?? 1) > 1));
  const doubted = cards.filter(({ unproven }) => unproven.length > 0);
  const doubts = {
    loads: [...new Set(doubted.map(({ load }) => load.id))],
    codes: [...new Set(doubted.flatMap(({ unproven }) => unproven))],
  };
  return [
    ...(doubted.length > 0 ? [finding('cards/unproven', name, doubts)] : []),
    ...(unapproved.length > 0 ? [finding('cards/no-approval', name, { rooms: unapproved })] : []),
    ...(loads.length > 0 ? [finding('cards/not-prepared', name, { loads })] : []),
    ...(long.length > 0 ? [finding('cards/several-pages', name, { rooms: long })] : []),
  ];
}
