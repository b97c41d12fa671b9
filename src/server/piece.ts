import type { ReportDocument } from '../core/report/report-schema.ts';
import type { WorkSeen } from '../core/report/window-talk.ts';
import { waitsFor } from '../io/programs/waits-for.ts';
import { toolErrorOf } from '../render/json/to-json.ts';
import type { WorkShown, WorkWanted } from './desk-at-hand.ts';
import type { FromProcess, PieceSeen } from './process-talk.ts';
import type { DeskProcess } from './processes.ts';

/**
 * After so long without a word somebody is told. A slow stick that takes in what was written is silent for as long too,
 * so this is no judgement.
 */
const silentMs = 15_000;

/** A process that has said its last word may clear up for so long. */
const endsWithinMs = 5000;

interface PieceParts extends WorkWanted {
  readonly process: DeskProcess;
  /** Something is to be seen anew: AT ONCE where somebody waits for it, else when it suits. */
  readonly changed: (atOnce: boolean) => void;
  /** What the process says of anything but this piece. */
  readonly hear: (message: FromProcess) => void;
}

/** One piece of work as the server knows it: what its process said last. */
export class Piece {
  /** Resolves when it is done, has failed, or is not waited for any more. */
  readonly over: Promise<void>;
  readonly #parts: PieceParts;
  readonly #begun = new Date().toISOString();
  readonly #agreeing = new Map<number, (objection: string | undefined) => void>();
  #end: () => void = () => {};
  #seen: PieceSeen = {
    state: 'working',
    meters: [],
    together: undefined,
    proposal: undefined,
    agreement: undefined,
    answer: undefined,
    error: undefined,
  };
  #isStopping = false;
  #asked = 0;
  #newsMs = performance.now();
  #silentSeconds: number | undefined;
  #perhapsSilent: readonly string[] = [];

  constructor(parts: PieceParts) {
    this.#parts = parts;
    this.over = new Promise((resolve) => {
      this.#end = resolve;
    });
    const { process, kind, order, shown } = parts;
    process.hear((message) => this.#hear(message));
    void process.ended.then((why) => this.#fail(toolErrorOf(why)));
    process.send({ say: 'work', kind, order, targets: shown.targets });
  }

  get isOver(): boolean {
    return this.#seen.state === 'done' || this.#seen.state === 'failed';
  }

  get kind(): string {
    return this.#parts.kind;
  }

  get shown(): WorkShown {
    return this.#parts.shown;
  }

  get answer(): ReportDocument | undefined {
    return this.#seen.answer;
  }

  /** Undefined where it is agreed; else why not. */
  agree(typed: string | undefined): Promise<string | undefined> {
    if (this.isOver) return Promise.resolve('Nothing waits for an agreement here any more.');
    this.#asked += 1;
    const number = this.#asked;
    this.#parts.process.send({ say: 'agree', number, typed });
    return new Promise((resolve) => this.#agreeing.set(number, resolve));
  }

  decline(): void {
    this.#parts.process.send({ say: 'decline' });
  }

  /** At a clean place; where it was stopped already and has given no sign since, at once. */
  stop(): void {
    if (this.isOver) return;
    if (this.#isStopping && this.#silentSeconds !== undefined) this.leave();
    else if (!this.#isStopping) {
      this.#isStopping = true;
      this.#newsMs = performance.now();
      this.#silentSeconds = undefined;
      this.#parts.process.send({ say: 'stop' });
    }
    this.#parts.changed(true);
  }

  /** Ends its process where it stands. One that hangs ends when the stick is pulled; nobody waits for it. */
  leave(): void {
    this.#parts.process.kill();
    this.#fail({
      code: 'interrupted',
      subject: this.#perhapsSilent.join(', '),
      message: 'Ended where it stood: no sign came of it any more.',
      todo: 'Pull the stick out. If it was being written, it says not ready until the same job has finished it: plug it in again, or take another, and start it again.',
    });
  }

  /** Hands it the bytes that it takes; resolves when all are taken, or it takes no more. */
  async feed(chunks: AsyncIterable<Uint8Array>): Promise<void> {
    await Promise.race([this.#parts.process.feed(chunks), this.over]);
  }

  /** Looks whether it still gives signs; to be called about once a second. */
  watch(): void {
    const nowMs = performance.now();
    const isWorking = !this.isOver && (this.#isStopping || this.#seen.state === 'working');
    const silentFor = isWorking ? nowMs - this.#newsMs : 0;
    const seconds = silentFor < silentMs ? undefined : Math.floor(silentFor / 1000);
    if (seconds === this.#silentSeconds) return;
    this.#silentSeconds = seconds;
    this.#perhapsSilent = seconds === undefined ? [] : this.#whichHangs();
    this.#parts.changed(false);
  }

  get isSilent(): boolean {
    return this.#silentSeconds !== undefined;
  }

  /**
   * The targets that a system call waits for. Where the system does not tell, all that are not through: one that hangs
   * in such a call holds up the others of its process at the same moment, so that none can be told from another.
   */
  #whichHangs(): readonly string[] {
    const { shown, process } = this.#parts;
    const going = shown.targets.filter(
      (target) => this.#seen.meters.find((meter) => meter.target === target)?.ended === undefined,
    );
    const waiting = waitsFor(process.pid, going);
    return waiting.length > 0 ? waiting : going;
  }

  seen(): WorkSeen {
    const { id, kind, shown } = this.#parts;
    const isStopping = this.#isStopping && !this.isOver;
    const silent =
      this.#silentSeconds === undefined ? undefined : { seconds: this.#silentSeconds, targets: this.#perhapsSilent };
    return {
      id,
      kind,
      ...shown,
      begun: this.#begun,
      ...this.#seen,
      ...(isStopping ? { state: 'stopping' } : {}),
      silent,
    };
  }

  #hear(message: FromProcess): void {
    if (message.say === 'news') this.#take(message.news);
    else if (message.say === 'agreed') this.#settle(message.number, message.objection);
    else this.#parts.hear(message);
  }

  #take(news: Partial<PieceSeen>): void {
    if (this.isOver) return;
    const before = this.#seen;
    this.#seen = { ...before, ...news };
    this.#newsMs = performance.now();
    this.#silentSeconds = undefined;
    if (this.isOver) this.#close();
    // What was shown before it is in the answer, too; a desk that is open for days keeps it once.
    if (this.#seen.answer !== undefined) this.#seen = { ...this.#seen, proposal: undefined };
    this.#parts.changed(before.state !== this.#seen.state);
  }

  #fail(error: NonNullable<WorkSeen['error']>): void {
    if (this.isOver) return;
    this.#seen = { ...this.#seen, state: 'failed', meters: [], together: undefined, agreement: undefined, error };
    this.#close();
    this.#parts.changed(true);
  }

  #close(): void {
    for (const number of [...this.#agreeing.keys()])
      this.#settle(number, 'Nothing waits for an agreement here any more.');
    setTimeout(() => this.#parts.process.kill(), endsWithinMs).unref();
    this.#silentSeconds = undefined;
    this.#end();
  }

  #settle(number: number, objection: string | undefined): void {
    this.#agreeing.get(number)?.(objection);
    this.#agreeing.delete(number);
  }
}
