import { unforeseen } from '../core/model/tool-error.ts';
import { JobMeters, rateOf, secondsLeft, shareDone } from '../core/report/job-meters.ts';
import type { ReportDocument } from '../core/report/report-schema.ts';
import type { Tell } from '../core/report/reports.ts';
import type { Agreement, MeterSeen, WorkSeen } from '../core/report/window-talk.ts';
import { toolErrorOf } from '../render/json/to-json.ts';

/** What a piece of work is given while it runs. */
export interface AtWork {
  readonly tell: Tell;
  readonly signal: AbortSignal;
  /** Shows PROPOSAL and waits until somebody agrees or says no; also no where the work is stopped meanwhile. */
  readonly ask: (proposal: ReportDocument | undefined, agreement: Agreement & Typed) => Promise<boolean>;
}

interface Typed {
  /** Whether what was typed is what must be typed. */
  readonly isRight?: (typed: string) => boolean;
}

export interface WorkOrder {
  readonly kind: string;
  readonly about: string;
  readonly targets: readonly string[];
}

/** More finished pieces than that nobody looks back at. */
const mostKept = 40;

/** Something is to be seen anew: AT ONCE where somebody waits for it, else when it suits. */
type Changed = (atOnce?: boolean) => void;

/** All work of the desk, under way and done. It goes on whether or not anybody looks. */
export class Work {
  readonly #pieces = new Map<string, Piece>();
  readonly #changed: Changed;
  #last = 0;

  constructor(changed: Changed) {
    this.#changed = changed;
  }

  start(order: WorkOrder, run: (at: AtWork) => Promise<ReportDocument>): string {
    this.#last += 1;
    const id = `w${this.#last}`;
    const piece = new Piece(id, order, this.#changed);
    this.#pieces.set(id, piece);
    for (const [old, { isOver }] of this.#pieces) if (this.#pieces.size > mostKept && isOver) this.#pieces.delete(old);
    void piece.run(run);
    return id;
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
    this.#changed();
    return true;
  }

  get underWay(): readonly Piece[] {
    return [...this.#pieces.values()].filter(({ isOver }) => !isOver);
  }

  /** Stops everything at a clean place; resolves when all has come to one. */
  async stopAll(): Promise<void> {
    for (const piece of this.underWay) piece.stop();
    await Promise.all(this.underWay.map(({ over }) => over));
  }
}

class Piece {
  readonly over: Promise<void>;
  isOver = false;
  report: unknown;
  readonly #order: WorkOrder;
  readonly #id: string;
  readonly #changed: Changed;
  readonly #begun = new Date().toISOString();
  readonly #stopping = new AbortController();
  readonly #meters = new JobMeters();
  #end: () => void = () => {};
  #proposal: ReportDocument | undefined;
  #asked: { readonly agreement: Agreement & Typed; readonly answer: (agreed: boolean) => void } | undefined;
  #answer: ReportDocument | undefined;
  #error: WorkSeen['error'];

  constructor(id: string, order: WorkOrder, changed: Changed) {
    this.#id = id;
    this.#order = order;
    this.#changed = changed;
    this.over = new Promise((resolve) => {
      this.#end = resolve;
    });
  }

  async run(work: (at: AtWork) => Promise<ReportDocument>): Promise<void> {
    const { signal } = this.#stopping;
    try {
      this.#answer = await work({
        signal,
        tell: (event) => {
          this.#meters.hear(event, performance.now());
          this.#changed();
        },
        ask: (proposal, agreement) => this.#ask(proposal, agreement),
      });
    } catch (error) {
      this.#error = signal.aborted
        ? {
            code: 'interrupted',
            subject: '',
            message: 'Stopped before it was done.',
            todo: 'Nothing is lost: start it again.',
          }
        : toolErrorOf(unforeseen(error, this.#order.targets[0] ?? ''));
    }
    this.#asked = undefined;
    this.isOver = true;
    this.#end();
    this.#changed(true);
  }

  #ask(proposal: ReportDocument | undefined, agreement: Agreement & Typed): Promise<boolean> {
    const { signal } = this.#stopping;
    if (signal.aborted) return Promise.resolve(false);
    return new Promise((resolve) => {
      const answer = (agreed: boolean): void => {
        this.#asked = undefined;
        signal.removeEventListener('abort', no);
        resolve(agreed);
        this.#changed();
      };
      const no = (): void => answer(false);
      signal.addEventListener('abort', no);
      this.#proposal = proposal;
      this.#asked = { agreement, answer };
      this.#changed(true);
    });
  }

  /** Undefined where it is agreed; else why not. */
  agree(typed: string | undefined): string | undefined {
    const asked = this.#asked;
    if (asked === undefined) return 'Nothing waits for an agreement here any more.';
    const { typed: wanted, isRight } = asked.agreement;
    if (wanted !== undefined && isRight?.(typed ?? '') !== true)
      return `That is not ${wanted.what}. Look at it once more, then type it as it is there.`;
    asked.answer(true);
    return undefined;
  }

  decline(): void {
    this.#asked?.answer(false);
  }

  stop(): void {
    this.#stopping.abort(new Error('interrupted by the desk'));
    this.#changed();
  }

  seen(): WorkSeen {
    const now = performance.now();
    return {
      id: this.#id,
      ...this.#order,
      begun: this.#begun,
      state: this.#state(),
      meters: this.isOver ? [] : this.#metersSeen(now),
      together: this.isOver ? undefined : this.#meters.together(now),
      proposal: this.#proposal,
      agreement: this.#asked && shown(this.#asked.agreement),
      answer: this.#answer,
      error: this.#error,
    };
  }

  #state(): WorkSeen['state'] {
    if (this.isOver) return this.#error === undefined ? 'done' : 'failed';
    if (this.#stopping.signal.aborted) return 'stopping';
    return this.#asked === undefined ? 'working' : 'asks';
  }

  #metersSeen(now: number): readonly MeterSeen[] {
    return [...this.#meters.meters]
      .filter(([, meter]) => !this.#meters.isBeside(meter))
      .map(([target, meter]) => ({
        target,
        stage: meter.stage,
        step: meter.job?.step,
        steps: meter.job?.steps,
        doneBytes: meter.doneBytes,
        totalBytes: meter.totalBytes,
        share: shareDone(meter),
        bytesPerSecond: rateOf(meter, now),
        leftSeconds: secondsLeft(meter, now),
        ended: this.#meters.ended.get(target),
      }));
  }
}

/** What is right to type stays here. */
const shown = ({ isRight: _, ...agreement }: Agreement & Typed): Agreement => agreement;
