import type { JobPlace, Stage, StickState, WorkEvent } from './reports.ts';

/** How far one target is. */
export interface Meter {
  readonly stage: Stage;
  readonly job: JobPlace | undefined;
  /** When the stage began, and when the first stage of the job did; milliseconds of one clock. */
  readonly stageMs: number;
  readonly jobMs: number;
  doneBytes: number;
  totalBytes: number;
}

/** What was said so far about every target, to be shown at any moment. */
export class JobMeters {
  readonly meters = new Map<string, Meter>();
  readonly ended = new Map<string, StickState>();

  hear(event: WorkEvent, nowMs: number): void {
    const known = this.meters.get(event.target);
    if (event.kind === 'stage') {
      const { stage, job, totalBytes } = event;
      const jobMs = job === undefined || known?.job === undefined ? nowMs : known.jobMs;
      this.meters.set(event.target, { stage, job, stageMs: nowMs, jobMs, doneBytes: 0, totalBytes });
    } else if (event.kind === 'progress' && known !== undefined) {
      known.doneBytes = event.doneBytes;
      known.totalBytes = event.totalBytes;
    } else if (event.kind === 'end') this.ended.set(event.target, event.state);
  }

  /** What comes next begins anew. */
  clear(): void {
    this.meters.clear();
    this.ended.clear();
  }

  /** The archive is read for the sticks: where they say how far they are, it needs no line of its own. */
  isBeside({ job }: Meter): boolean {
    return job === undefined && [...this.meters.values()].some((other) => other.job !== undefined);
  }

  /** Several sticks together; undefined for fewer than two, and when none of them is at work any more. */
  together(
    nowMs: number,
  ): { readonly sticks: number; readonly share: number; readonly leftSeconds?: number } | undefined {
    const jobs = [...this.meters].filter(([, { job }]) => job !== undefined);
    const going = jobs.filter(([target]) => !this.ended.has(target));
    if (jobs.length < 2 || going.length === 0) return undefined;
    const left = going.map(([, meter]) => secondsLeft(meter, nowMs)).filter((seconds) => seconds !== undefined);
    const sum = (of: (meter: Meter) => number): number => jobs.reduce((total, [, meter]) => total + of(meter), 0);
    const share =
      sum(({ job, doneBytes }) => (job?.beforeBytes ?? 0) + doneBytes) / sum(({ job }) => job?.allBytes ?? 0);
    return { sticks: jobs.length, share, ...(left.length < going.length ? {} : { leftSeconds: Math.max(...left) }) };
  }
}

/** Of the whole job, from 0 to 1. */
export function shareDone({ job, doneBytes, totalBytes }: Meter): number {
  const [done, all] = job === undefined ? [doneBytes, totalBytes] : [job.beforeBytes + doneBytes, job.allBytes];
  return all === 0 ? 1 : Math.min(1, done / all);
}

/** As if the rest went as fast as all so far; undefined where too little was done to tell. */
export function secondsLeft(meter: Meter, nowMs: number): number | undefined {
  const share = shareDone(meter);
  return share < 0.02 || share >= 1 ? undefined : ((nowMs - meter.jobMs) / 1000 / share) * (1 - share);
}

/** Of the stage, in bytes a second. */
export const rateOf = ({ doneBytes, stageMs }: Meter, nowMs: number): number =>
  doneBytes / Math.max(0.001, (nowMs - stageMs) / 1000);

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

export const stageWords: Record<Stage, string> = {
  looking: 'Looking at what is there',
  receiving: 'Taking it in',
  reading: 'Reading',
  writing: 'Writing',
  flushing: 'Waiting until the stick has taken it',
  'reading-back': 'Reading back',
  finishing: 'Giving the final names, and the record',
};
