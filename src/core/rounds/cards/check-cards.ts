import { type Finding, finding } from '../../findings/finding.ts';
import type { RoomCard } from './make-cards.ts';

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
