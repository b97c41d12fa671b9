import stringWidth from 'string-width';
import wrapAnsi from 'wrap-ansi';
import {
  JobMeters,
  type Meter,
  rateOf,
  secondsLeft,
  shareDone,
  stageWords,
  stateWords,
} from '../../core/report/job-meters.ts';
import type { WorkEvent } from '../../core/report/reports.ts';
import { countInWords, roundedSize } from '../../core/text/words.ts';
import { tame } from './page.ts';

/** What was said so far about every target, in words. */
export class Meters {
  readonly #of = new JobMeters();

  hear(event: WorkEvent, nowMs: number): void {
    this.#of.hear(event, nowMs);
  }

  /** What comes next begins anew. */
  clear(): void {
    this.#of.clear();
  }

  get targets(): Iterable<string> {
    return this.#of.meters.keys();
  }

  /** The stage of TARGET that is over with the next one, in one line; undefined where it says nothing. */
  stageDone(target: string, nowMs: number): string | undefined {
    const meter = this.#of.meters.get(target);
    if (meter === undefined || meter.totalBytes === 0 || this.#of.isBeside(meter)) return undefined;
    return `${stageWords[meter.stage]} ${tame(target)}: ${roundedSize(meter.doneBytes)}, ${rateInWords(meter, nowMs)}`;
  }

  /** Everything as it stands, in lines of at most COLUMNS; of several sticks together at last. */
  lines(nowMs: number, columns: number): readonly string[] {
    const shown = [...this.#of.meters].filter(([, meter]) => !this.#of.isBeside(meter));
    const each = shown.flatMap(([target, meter]) => this.#linesOf(target, meter, nowMs, columns));
    const all = this.#of.together(nowMs);
    if (all === undefined) return each;
    return [
      ...each,
      joined([percent(all.share), `all ${countInWords(all.sticks, 'stick')}`, leftInWords(all.leftSeconds)]),
    ];
  }

  #linesOf(target: string, meter: Meter, nowMs: number, columns: number): readonly string[] {
    const ended = this.#of.ended.get(target);
    const text = ended === undefined ? meterInWords(meter, nowMs) : stateWords[ended];
    const name = tame(target);
    if (stringWidth(text) + 2 + stringWidth(name) < columns) return [`${text}  ${name}`];
    const wrapped = (words: string, width: number): string[] => wrapAnsi(words, width, { hard: true }).split('\n');
    return [...wrapped(name, columns - 1), ...wrapped(text, columns - 3).map((line) => `  ${line}`)];
  }
}

/** `37 %  step 1 of 4: writing 412 MB of 1.20 GB, 31.2 MB/s  3:20 left`: share and time are of the whole job. */
function meterInWords(meter: Meter, nowMs: number): string {
  const { doneBytes, totalBytes, stage, job } = meter;
  const bytes =
    totalBytes === 0 ? '' : ` ${roundedSize(doneBytes)} of ${roundedSize(totalBytes)}, ${rateInWords(meter, nowMs)}`;
  const step = job === undefined ? '' : `step ${job.step} of ${job.steps}: `;
  const words =
    step === '' ? stageWords[stage] : stageWords[stage].charAt(0).toLowerCase() + stageWords[stage].slice(1);
  return joined([percent(shareDone(meter)), `${step}${words}${bytes}`, leftInWords(secondsLeft(meter, nowMs))]);
}

const joined = (parts: readonly string[]): string => parts.filter((part) => part !== '').join('  ');

/** Rounded down, and never all of it: what is done has words of its own. */
const percent = (share: number): string => `${Math.min(99, Math.floor(share * 100))} %`.padStart(5);

const leftInWords = (seconds: number | undefined): string => {
  if (seconds === undefined) return '';
  const whole = Math.ceil(seconds);
  return `${Math.floor(whole / 60)}:${String(whole % 60).padStart(2, '0')} left`;
};

const rateInWords = (meter: Meter, nowMs: number): string => `${roundedSize(rateOf(meter, nowMs))}/s`;
