import type { Board, Walk } from './board.ts';

/** The rooms that wait for each load: those that never had to wait first, the longest way first; then as they become ready. */
export interface OpenRooms {
  /** The room to visit next with this load; undefined where none waits for it now. */
  readonly next: (load: number) => number | undefined;
  /** The room had its visit. */
  readonly took: (room: number) => void;
}

export function openRooms({ rooms, visitMinutes }: Walk, board: Board): OpenRooms {
  const queues: number[][] = visitMinutes.map(() => []);
  const heads = visitMinutes.map(() => 0);
  const inOrder = rooms.map((_, room) => room).toSorted((a, b) => board.stepsLeft(b) - board.stepsLeft(a));
  for (const room of inOrder) queues[board.wants(room) ?? -1]?.push(room);
  return {
    next: (load) => queues[load]?.[heads[load] ?? 0],
    took(room) {
      for (const [load, queue] of queues.entries())
        if (queue[heads[load] ?? 0] === room) heads[load] = (heads[load] ?? 0) + 1;
      const load = board.wants(room);
      const queue = load === undefined ? undefined : queues[load];
      if (load === undefined || queue === undefined) return;
      const minute = board.readyMinute(room);
      let at = queue.length;
      while (at > (heads[load] ?? 0) && board.readyMinute(queue[at - 1] ?? 0) > minute) at--;
      queue.splice(at, 0, room);
    },
  };
}
