import stringWidth from 'string-width';
import wrapAnsi from 'wrap-ansi';
import type { JobPlace, Stage, StickState, WorkEvent } from '../../core/report/reports.ts';
import { countInWords, roundedSize } from '../../core/text/words.ts';
import { tame } from './page.ts';

/** How far one target is. */
interface Meter {
  readonly stage: Stage;
  readonly job: JobPlace | undefined;
  /** When the stage began, and when the first stage of the job did; as `performance.now` says. */
  readonly stageMs: number;
  readonly jobMs: number;
  doneBytes: number;
  totalBytes: number;
}

/** What was said so far about every target, to be shown at any moment. */
export class Meters {
  readonly #meters = new Map<string, Meter>();
  readonly #ended = new Map<string, StickState>();

  hear(event: WorkEvent, nowMs: number): void {
    const known = this.#meters.get(event.target);
    if (event.kind === 'stage') {
      const { stage, job, totalBytes } = event;
      const jobMs = job === undefined || known?.job === undefined ? nowMs : known.jobMs;
      this.#meters.set(event.target, { stage, job, stageMs: nowMs, jobMs, doneBytes: 0, totalBytes });
    } else if (event.kind === 'progress' && known !== undefined) {
      known.doneBytes = event.doneBytes;
      known.totalBytes = event.totalBytes;
    } else if (event.kind === 'end') this.#ended.set(event.target, event.state);
  }

  /** What comes next begins anew. */
  clear(): void {
    this.#meters.clear();
    this.#ended.clear();
  }

  get targets(): Iterable<string> {
    return this.#meters.keys();
  }

  /** The stage of TARGET that is over with the next one, in one line; undefined where it says nothing. */
  stageDone(target: string, nowMs: number): string | undefined {
    const meter = this.#meters.get(target);
    if (meter === undefined || meter.totalBytes === 0 || this.#isBeside(meter)) return undefined;
    return `${stageWords[meter.stage]} ${tame(target)}: ${roundedSize(meter.doneBytes)}, ${rateOf(meter, nowMs)}`;
  }

  /** Everything as it stands, in lines of at most COLUMNS; of several sticks together at last. */
  lines(nowMs: number, columns: number): readonly string[] {
    const shown = [...this.#meters].filter(([, meter]) => !this.#isBeside(meter));
    const each = shown.flatMap(([target, meter]) => this.#linesOf(target, meter, nowMs, columns));
    const jobs = shown.filter(([, { job }]) => job !== undefined);
    const going = jobs.filter(([target]) => !this.#ended.has(target));
    if (jobs.length < 2 || going.length === 0) return each;
    const left = going.map(([, meter]) => leftOf(meter, nowMs)).filter((seconds) => seconds !== undefined);
    const sum = (of: (meter: Meter) => number): number => jobs.reduce((total, [, meter]) => total + of(meter), 0);
    const share =
      sum(({ job, doneBytes }) => (job?.beforeBytes ?? 0) + doneBytes) / sum(({ job }) => job?.allBytes ?? 0);
    const most = left.length < going.length ? undefined : Math.max(...left);
    return [...each, joined([percent(share), `all ${countInWords(jobs.length, 'stick')}`, leftInWords(most)])];
  }

  /** The archive is read for the sticks: where they say how far they are, it needs no line of its own. */
  #isBeside({ job }: Meter): boolean {
    return job === undefined && [...this.#meters.values()].some((other) => other.job !== undefined);
  }

  #linesOf(target: string, meter: Meter, nowMs: number, columns: number): readonly string[] {
    const ended = this.#ended.get(target);
    const text = ended === undefined ? meterInWords(meter, nowMs) : stateWords[ended];
    const name = tame(target);
    if (stringWidth(text) + 2 + stringWidth(name) < columns) return [`${text}  ${name}`];
    const wrapped = (words: string, width: number): string[] => wrapAnsi(words, width, { hard: true }).split('\n');
    return [...wrapped(name, columns - 1), ...wrapped(text, columns - 3).map((line) => `  ${line}`)];
  }
}

/** What became of a stick, also after the work. */
export const stateWords: Record<StickState, string> = {
  planned: 'Dry run: nothing was written. Written as shown, the stick would be',
  refused: 'Nothing was written.',
  declined: 'Nothing was written: you said no.',
  written: 'Written, read back and recorded.',
  unchanged: 'Nothing had to be written; all of it was read and compared.',
  unfinished: 'Not finished.',
  failed: 'The tool could not go on with this stick.',
};

const stageWords: Record<Stage, string> = {
  looking: 'Looking at what is there',
  reading: 'Reading',
  writing: 'Writing',
  flushing: 'Waiting until the stick has taken it',
  'reading-back': 'Reading back',
  finishing: 'Giving the final names, and the record',
};

/** `37 %  step 1 of 4: writing 412 MB of 1.20 GB, 31.2 MB/s  3:20 left`: share and time are of the whole job. */
function meterInWords(meter: Meter, nowMs: number): string {
  const { doneBytes, totalBytes, stage, job } = meter;
  const bytes =
    totalBytes === 0 ? '' : ` ${roundedSize(doneBytes)} of ${roundedSize(totalBytes)}, ${rateOf(meter, nowMs)}`;
  const step = job === undefined ? '' : `step ${job.step} of ${job.steps}: `;
  const words =
    step === '' ? stageWords[stage] : stageWords[stage].charAt(0).toLowerCase() + stageWords[stage].slice(1);
  return joined([percent(shareOf(meter)), `${step}${words}${bytes}`, leftInWords(leftOf(meter, nowMs))]);
}

const joined = (parts: readonly string[]): string => parts.filter((part) => part !== '').join('  ');

function shareOf({ job, doneBytes, totalBytes }: Meter): number {
  const [done, all] = job === undefined ? [doneBytes, totalBytes] : [job.beforeBytes + doneBytes, job.allBytes];
  return all === 0 ? 1 : Math.min(1, done / all);
}

/** Rounded down, and never all of it: what is done has words of its own. */
const percent = (share: number): string => `${Math.min(99, Math.floor(share * 100))} %`.padStart(5);

/** Seconds, as if the rest went as fast as all so far; undefined where too little was done to tell. */
function leftOf(meter: Meter, nowMs: number): number | undefined {
  const share = shareOf(meter);
  return share < 0.02 || share >= 1 ? undefined : ((nowMs - meter.jobMs) / 1000 / share) * (1 - share);
}

const leftInWords = (seconds: number | undefined): string => {
  if (seconds === undefined) return '';
  const whole = Math.ceil(seconds);
  return `${Math.floor(whole / 60)}:${String(whole % 60).padStart(2, '0')} left`;
};

function rateOf({ doneBytes, stageMs }: Meter, nowMs: number): string {
  return `${roundedSize(doneBytes / Math.max(0.001, (nowMs - stageMs) / 1000))}/s`;
}
