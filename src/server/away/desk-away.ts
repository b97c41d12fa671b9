import { randomBytes, randomUUID } from 'node:crypto';
import type { DeskEvent, TargetSeen } from '../../core/report/window-talk.ts';
import type { DeskAtHand, WorkStarter } from '../desk-at-hand.ts';
import type { DeskParts } from '../desk-parts.ts';
import type { Printing } from '../paper.ts';
import type { DeskLies, FromProcess } from '../process-talk.ts';
import { Rounds } from '../rounds.ts';
import { holdSettings } from '../settings-held.ts';

/** The desk in a process that works for it: as the server said that it lies; what it does to it, the server hears. */
export class DeskAway implements DeskAtHand {
  readonly parts: DeskParts;
  readonly rounds: Rounds;
  readonly tell: (event: DeskEvent) => void;
  readonly work: WorkStarter;
  readonly paper: Printing;
  #lies: DeskLies;

  constructor(parts: DeskParts, lies: DeskLies, send: (message: FromProcess) => void) {
    this.parts = parts;
    this.#lies = lies;
    this.rounds = new Rounds(parts, { place: lies.round, laid: (round) => send({ say: 'laid', round }) });
    this.tell = (event) => send({ say: 'tell', event });
    this.work = {
      start: ({ kind }, order, shown) => {
        const id = randomUUID();
        send({ say: 'start', work: { id, kind, order, shown } });
        return id;
      },
    };
    this.paper = {
      addressOf: (page) => {
        const ticket = randomBytes(32).toString('base64url');
        send({ say: 'paper', ticket, page });
        return `/paper/${ticket}`;
      },
    };
  }

  get targets(): readonly TargetSeen[] {
    return this.#lies.targets;
  }

  knowsTarget(target: string): boolean {
    return this.targets.some((one) => one.target === target && one.refused === undefined);
  }

  liesNow(lies: DeskLies): void {
    this.#lies = lies;
    const { who } = this.parts;
    holdSettings(lies.settings);
    // What somebody else notes from now on goes into a file of their own.
    const { place } = this.rounds;
    if (this.parts.who !== who && place !== undefined) this.rounds.take(place);
  }
}
