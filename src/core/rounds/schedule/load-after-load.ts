import { type Course, startBoard, type Walk } from './board.ts';
import { stickFor } from './first-come.ts';
import { openRooms } from './open-rooms.ts';

/**
 * Load after load in the given order, each of its rooms with the stick that would be done first: another stick is prepared for a
 * load only where that is quicker than waiting for one that has it. Undefined where the order lets a room wait for a later load.
 */
export function loadAfterLoad(walk: Walk, order: readonly number[]): Course | undefined {
  const board = startBoard(walk);
  const open = openRooms(walk, board);
  for (const load of order) {
    for (let room = open.next(load); room !== undefined; room = open.next(load)) {
      board.visit(stickFor(room, board, walk.sticks, 'done-first'), room);
      open.took(room);
    }
  }
  return walk.rooms.some((_, room) => board.wants(room) !== undefined) ? undefined : board.course();
}
