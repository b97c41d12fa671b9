import { type Board, type Course, startBoard, type Walk } from './board.ts';

/** Which stick takes the next room: the one that is free first, or the one that would be done first. */
export type StickRule = 'free-first' | 'done-first';

/** Room after room in the order of the list, each with all its visits, as a person without a plan would do it. */
export function firstCome(walk: Walk, rule: StickRule): Course {
  const board = startBoard(walk);
  walk.rooms.forEach((loads, room) => {
    for (const _ of loads) board.visit(stickFor(room, board, walk.sticks, rule), room);
  });
  return board.course();
}

/** Of equal ones the one with the lowest number. */
export function stickFor(room: number, board: Board, sticks: number, rule: StickRule): number {
  const minuteOf = rule === 'free-first' ? board.freeMinute : (stick: number) => board.startWith(stick, room);
  let best = 0;
  for (let stick = 1; stick < sticks; stick++) if (minuteOf(stick) < minuteOf(best)) best = stick;
  return best;
}
