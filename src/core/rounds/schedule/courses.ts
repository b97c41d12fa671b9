import type { Turn } from '../../model/round.ts';

/** A preparation, and the visits that its stick makes before it is prepared again. */
export interface Course {
  readonly stick: number;
  readonly prepared: Turn;
  readonly visits: readonly Turn[];
}

/** What each stick does, one course after the other; the sticks by their number. */
export function coursesOf(turns: readonly Turn[]): ReadonlyMap<number, readonly Course[]> {
  const sticks = new Map<number, { stick: number; prepared: Turn; visits: Turn[] }[]>();
  const inOrder = turns.toSorted((a, b) => a.stick - b.stick || a.startMinute - b.startMinute);
  for (const turn of inOrder) {
    const courses = sticks.get(turn.stick) ?? [];
    sticks.set(turn.stick, courses);
    if (turn.room === null || courses.length === 0)
      courses.push({ stick: turn.stick, prepared: turn, visits: turn.room === null ? [] : [turn] });
    else courses.at(-1)?.visits.push(turn);
  }
  return sticks;
}

/** When its last panel is done. */
export const endOf = ({ prepared, visits }: Course): number => visits.at(-1)?.endMinute ?? prepared.endMinute;

/** `2 h 05 min`. */
export function hoursInWords(minutes: number): string {
  const whole = Math.ceil(minutes);
  return whole < 60 ? `${whole} min` : `${Math.floor(whole / 60)} h ${String(whole % 60).padStart(2, '0')} min`;
}

/** `1:05`: hours and minutes from the beginning. */
export const clockOf = (minute: number): string =>
  `${Math.floor(minute / 60)}:${String(Math.floor(minute % 60)).padStart(2, '0')}`;
