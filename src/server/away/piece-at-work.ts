import { unforeseen } from '../../core/model/tool-error.ts';
import { JobMeters, rateOf, secondsLeft, shareDone } from '../../core/report/job-meters.ts';
import type { ReportDocument } from '../../core/report/report-schema.ts';
import type { Agreement, MeterSeen, WorkSeen } from '../../core/report/window-talk.ts';
import { toolErrorOf } from '../../render/json/to-json.ts';
import type { AskedAgreement, AtWork } from '../desk-at-hand.ts';
import type { PieceSeen } from '../process-talk.ts';

/** Something is to be seen anew: AT ONCE where somebody waits for it, else when it suits. */
type Changed = (atOnce: boolean) => void;

/** One piece of work, in the process that does it. */
export class PieceAtWork {
  isOver = false;
  readonly #targets: readonly string[];
  readonly #changed: Changed;
  readonly #stopping = new AbortController();
  readonly #meters = new JobMeters();
  #proposal: ReportDocument | undefined;
  #asked: { readonly agreement: AskedAgreement; readonly answer: (agreed: boolean) => void } | undefined;
  #answer: ReportDocument | undefined;
  #error: WorkSeen['error'];

  constructor(targets: readonly string[], changed: Changed) {
    this.#targets = targets;
    this.#changed = changed;
  }

  /** Resolves when there is an answer, or an error that says why there is none. */
  async run(work: (at: AtWork) => Promise<object>): Promise<void> {
    const { signal } = this.#stopping;
    try {
      this.#answer = (await work({
        signal,
        tell: (event) => {
          this.#meters.hear(event, performance.now());
          this.#changed(false);
        },
        ask: (proposal, agreement) => this.#ask(proposal, agreement),
        input: inputUntil(signal),
      })) as ReportDocument;
    } catch (error) {
      this.#error = signal.aborted
        ? {
            code: 'interrupted',
            subject: '',
            message: 'Stopped before it was done.',
            todo: 'Nothing is lost: start it again.',
          }
        : toolErrorOf(unforeseen(error, this.#targets[0] ?? ''));
    }
    this.#asked = undefined;
    this.isOver = true;
    this.#changed(true);
  }

  #ask(proposal: ReportDocument | undefined, agreement: AskedAgreement): Promise<boolean> {
    const { signal } = this.#stopping;
    if (signal.aborted) return Promise.resolve(false);
    return new Promise((resolve) => {
      const answer = (agreed: boolean): void => {
        this.#asked = undefined;
        signal.removeEventListener('abort', no);
        resolve(agreed);
        this.#changed(true);
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

  stop(why: unknown): void {
    this.#stopping.abort(why);
  }

  seen(): PieceSeen {
    const now = performance.now();
    return {
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
const shown = ({ isRight: _, ...agreement }: AskedAgreement): Agreement => agreement;

/** What the server hands over; nothing more of it is waited for when SIGNAL says so. */
async function* inputUntil(signal: AbortSignal): AsyncIterable<Uint8Array> {
  const { stdin } = process;
  const leave = (): void => void stdin.destroy();
  signal.addEventListener('abort', leave, { once: true });
  try {
    for await (const chunk of stdin) yield chunk as Uint8Array;
  } finally {
    signal.removeEventListener('abort', leave);
  }
}
