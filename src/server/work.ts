import { randomUUID } from 'node:crypto';
import type { WorkSeen } from '../core/report/window-talk.ts';
import type { WorkKind, WorkShown, WorkStarter, WorkWanted } from './desk-at-hand.ts';
import { Piece } from './piece.ts';
import type { FromProcess } from './process-talk.ts';
import type { Processes } from './processes.ts';

/**
 * More finished pieces than that nobody looks back at. Of preparations, whose answers name every file, the slip shows
 * the last alone, and what a round wants to know of them stands in its records.
 */
const mostKept = 40;
const mostKeptOf: Readonly<Record<string, number>> = { prepare: 1, 'round prepare': 12 };

const watchMs = 1000;

/** Longer than the system takes to let go of a stick that answers. */
const quietlyMs = 60_000;

interface WorkParts {
  readonly processes: Processes;
  /** Something is to be seen anew: AT ONCE where somebody waits for it, else when it suits. */
  readonly changed: (atOnce: boolean) => void;
  /** What a process says of anything but its piece. */
  readonly hear: (message: FromProcess) => void;
}

/** All work of the desk, each piece in a process of its own, under way and done. It goes on whoever looks. */
export class Work implements WorkStarter {
  readonly #pieces = new Map<string, Piece>();
  readonly #parts: WorkParts;
  readonly #watching: NodeJS.Timeout;

  constructor(parts: WorkParts) {
    this.#parts = parts;
    this.#watching = setInterval(() => {
      for (const piece of this.underWay) piece.watch();
    }, watchMs).unref();
  }

  start<Order>({ kind }: WorkKind<Order>, order: Order, shown: WorkShown): string {
    const id = randomUUID();
    this.startNamed({ id, kind, order, shown });
    return id;
  }

  startNamed(wanted: WorkWanted): void {
    const { id, kind } = wanted;
    this.#pieces.set(id, this.#begin(wanted, this.#parts.changed));
    const alike = [...this.#pieces].filter(([, piece]) => piece.kind === kind);
    this.#forget(alike, mostKeptOf[kind] ?? mostKept);
    this.#forget([...this.#pieces], mostKept);
  }

  /** The oldest finished ones of PIECES, which are in their order, until no more than MOST are left. */
  #forget(pieces: readonly (readonly [string, Piece])[], most: number): void {
    const tooMany = pieces.slice(0, Math.max(0, pieces.length - most));
    for (const [id, { isOver }] of tooMany) if (isOver) this.#pieces.delete(id);
  }

  /** Does it, seen by nobody; resolves with its answer, or with why there is none. */
  async quietly<Order>({ kind }: WorkKind<Order>, order: Order, targets: readonly string[]): Promise<WorkSeen> {
    const piece = this.#begin({ id: randomUUID(), kind, order, shown: { about: '', targets } }, () => {});
    const leaving = setTimeout(() => piece.leave(), quietlyMs);
    await piece.over;
    clearTimeout(leaving);
    return piece.seen();
  }

  seen(): readonly WorkSeen[] {
    return [...this.#pieces.values()].map((piece) => piece.seen());
  }

  piece(id: string): Piece | undefined {
    return this.#pieces.get(id);
  }

  /** Takes a finished piece out of sight. */
  putAway(id: string): boolean {
    if (this.#pieces.get(id)?.isOver !== true) return false;
    this.#pieces.delete(id);
    this.#parts.changed(true);
    return true;
  }

  get underWay(): readonly Piece[] {
    return [...this.#pieces.values()].filter(({ isOver }) => !isOver);
  }

  /** Stops everything at a clean place; what gives no sign is LEFT where it stands. Resolves when all is over. */
  async stopAll(left: (piece: Piece) => void): Promise<void> {
    for (const piece of this.underWay) piece.stop();
    const leaving = setInterval(() => {
      for (const piece of this.underWay.filter(({ isSilent }) => isSilent)) {
        left(piece);
        piece.leave();
      }
    }, watchMs);
    await Promise.all(this.underWay.map(({ over }) => over));
    clearInterval(leaving);
    clearInterval(this.#watching);
  }

  #begin(wanted: WorkWanted, changed: (atOnce: boolean) => void): Piece {
    const { processes, hear } = this.#parts;
    const piece = new Piece({ ...wanted, process: processes.take(), changed, hear });
    // While sticks are written nothing else needs to start beside them.
    void piece.over.then(() => {
      if (this.underWay.length === 0) processes.warm();
    });
    return piece;
  }
}
