import type { Turn } from '../../model/round.ts';
import { type Course, firstCome, type Move, type Walk } from './board.ts';
import { oneStickEach } from './fill-sticks.ts';
import { findCourse } from './find-course.ts';

export interface LoadTimes {
  readonly id: string;
  readonly wipes: boolean;
  /** At the panel. */
  readonly visitMinutes: number;
  /** To prepare a stick with it at the desk. */
  readonly setUpMinutes: number;
}

export interface ScheduleQuestion {
  /** At least 1. Undefined: one for each load, prepared once. */
  readonly sticks: number | undefined;
  readonly loads: readonly LoadTimes[];
  /** Rooms in the order of the list, each with the letters of its loads, one visit after the other. */
  readonly rooms: readonly { readonly key: string; readonly loads: readonly string[] }[];
}

export interface Schedule {
  /** By start; of the same minute by stick. */
  readonly turns: readonly Turn[];
  readonly sticks: number;
  /** From the first preparation to the last panel. */
  readonly totalMinutes: number;
}

/**
 * Who goes where with which stick, and when. Sticks are alike, a stick is in one panel at a time, and it is prepared
 * anew when it is to carry something else; a room's next visit comes after its last. Loads that wipe come strictly
 * after all others: no stick that wipes is made before every other room is done. Hands are not counted, only sticks.
 *
 * Never longer than first come, first served. On small rounds (up to 3 sticks, 3 loads and 7 visits) at most a quarter
 * longer than the shortest there is, and mostly the shortest itself: that is tested against all courses, not proven.
 */
export const scheduleRound = (question: ScheduleQuestion): Schedule =>
  scheduleBy(question, question.sticks === undefined ? oneStickEach : findCourse);

/** Room after room in the order of the list, each time with the stick that is free first: to compare with. */
export const scheduleFirstCome = (question: ScheduleQuestion): Schedule =>
  scheduleBy(question, (walk) => firstCome(walk, 'free-first'));

function scheduleBy(question: ScheduleQuestion, find: (walk: Walk) => Course): Schedule {
  const turns: Turn[] = [];
  let totalMinutes = 0;
  let stickBefore = 0;
  for (const wipes of [false, true]) {
    const loads = question.loads.filter((load) => load.wipes === wipes);
    const numberOf = new Map(loads.map(({ id }, number) => [id, number]));
    const rooms = question.rooms.filter((room) => room.loads.some((id) => numberOf.has(id)));
    if (rooms.length === 0) continue;
    const course = find({
      sticks: question.sticks ?? loads.length,
      visitMinutes: loads.map((load) => load.visitMinutes),
      setUpMinutes: loads.map((load) => load.setUpMinutes),
      rooms: rooms.map((room) => room.loads.flatMap((id) => numberOf.get(id) ?? [])),
    });
    const from = { minute: totalMinutes, stick: stickBefore };
    turns.push(...course.moves.map((move) => turnOf(move, from, loads, rooms)));
    totalMinutes += course.totalMinutes;
    // With a stick for each load, those that wipe are other sticks than those that do not.
    if (question.sticks === undefined) stickBefore += loads.length;
  }
  return { turns: turns.toSorted(byStart), sticks: question.sticks ?? stickBefore, totalMinutes };
}

const turnOf = (
  { stick, load, room, startMinute, endMinute }: Move,
  from: { readonly minute: number; readonly stick: number },
  loads: readonly LoadTimes[],
  rooms: ScheduleQuestion['rooms'],
): Turn => ({
  stick: from.stick + stick + 1,
  load: loads[load]?.id ?? '',
  room: room === undefined ? null : (rooms[room]?.key ?? ''),
  startMinute: startMinute + from.minute,
  endMinute: endMinute + from.minute,
});

const byStart = (a: Turn, b: Turn): number =>
  a.startMinute - b.startMinute || a.stick - b.stick || a.endMinute - b.endMinute;
