import { clearHeld } from '../io/files/hold-for-now.ts';
import { type OwnProcess, startOwnProcess } from '../io/programs/own-process.ts';
import type { DeskParts } from './desk-parts.ts';
import type { DeskLies, FromProcess, ToProcess } from './process-talk.ts';

export type DeskProcess = OwnProcess<ToProcess, FromProcess>;

/** The processes that work for this desk. One is kept ready, so that nobody waits until it has started. */
export class Processes {
  readonly #parts: DeskParts;
  readonly #lies: () => DeskLies;
  readonly #all = new Set<DeskProcess>();
  #spare: DeskProcess | undefined;

  constructor(parts: DeskParts, lies: () => DeskLies) {
    this.#parts = parts;
    this.#lies = lies;
    // What a desk left that was killed together with its processes.
    void clearHeld();
  }

  /** Has one ready from now on. */
  warm(): void {
    this.#spare ??= this.#start('work');
  }

  /** One that works, and knows how the desk lies now. */
  take(): DeskProcess {
    const taken = this.#spare ?? this.#start('work');
    this.#spare = undefined;
    this.layFor(taken);
    return taken;
  }

  /** One that looks at what is plugged in. */
  lookOut(): DeskProcess {
    const taken = this.#start('look');
    this.layFor(taken);
    return taken;
  }

  layFor(one: DeskProcess): void {
    one.send({ say: 'desk', words: this.#parts.words, lies: this.#lies() });
  }

  /** Ends all that are left where they stand. */
  end(): void {
    for (const one of this.#all) one.kill();
  }

  #start(role: 'work' | 'look'): DeskProcess {
    const started: DeskProcess = startOwnProcess(this.#parts.script, [role]);
    this.#all.add(started);
    void started.ended.then(() => {
      this.#all.delete(started);
      if (this.#spare === started) this.#spare = undefined;
      void clearHeld();
    });
    return started;
  }
}
