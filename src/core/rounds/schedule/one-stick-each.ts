import { type Course, startBoard, type Walk } from './board.ts';
import { carryOut } from './fill-sticks.ts';

/**
 * Every load on a stick of its own, number for number, prepared once: the visit that can start first comes first, or the order
 * of the list where that is shorter.
 */
export function oneStickEach(walk: Walk): Course {
  const asListed = inOrderOfList(walk);
  const loads = walk.visitMinutes.map((_, load) => load);
  const counts = loads.map((load) => walk.rooms.filter((own) => own.includes(load)).length);
  const batches = loads.map((load) => [{ load, rooms: counts[load] ?? 0 }]);
  const inTime = carryOut({ ...walk, sticks: loads.length }, batches, loads) ?? asListed;
  return inTime.totalMinutes <= asListed.totalMinutes ? inTime : asListed;
}

function inOrderOfList(walk: Walk): Course {
  const board = startBoard({ ...walk, sticks: walk.visitMinutes.length });
  walk.rooms.forEach((loads, room) => {
    for (const load of loads) board.visit(load, room);
  });
  return board.course();
}
