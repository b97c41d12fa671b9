import type { Round, Turn } from '../../core/model/round.ts';
import { type Look, painter, paragraph, tame } from './page.ts';

/** A longer order is read from the cover sheet. */
const mostTurns = 300;

/** Stick by stick what is done with it: minutes from the beginning, what it carries, and which rooms it goes to. */
export function renderRoundOrder({ schedule, loads }: Round, look: Look): string {
  if (schedule.turns.length === 0) return '';
  const title = painter(look)('bold', 'Order of the sticks, in hours:minutes from the beginning');
  if (schedule.turns.length > mostTurns) {
    return `${title}\n${paragraph(`${schedule.turns.length} turns: see the cover sheet (stickwright round cards) or --json.`, 2, look)}\n\n`;
  }
  const wiping = new Set(loads.flatMap(({ id, wipes }) => (wipes ? [id] : [])));
  const numbers = [...new Set(schedule.turns.map(({ stick }) => stick))].toSorted((a, b) => a - b);
  const lines = numbers.flatMap((number) => [
    `  Stick ${tame(String(number))}`,
    ...schedule.turns
      .filter(({ stick }) => stick === number)
      .map((turn) => paragraph(`${clock(turn.startMinute)}  ${inWords(turn, wiping)}`, 4, look)),
  ]);
  return `${title}\n${lines.join('\n')}\n\n`;
}

function inWords({ load, room }: Turn, wiping: ReadonlySet<string>): string {
  if (room === null) return `prepare load ${tame(load)}${wiping.has(load) ? ': WIPES' : ''}`;
  return tame(`${load} to ${room}`);
}

const clock = (minute: number): string =>
  `${Math.floor(minute / 60)}:${String(Math.floor(minute % 60)).padStart(2, '0')}`;
