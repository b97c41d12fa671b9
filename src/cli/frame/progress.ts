import type { Stage, Tell, WorkEvent } from '../../core/report/reports.ts';
import { roundedSize } from '../../core/text/words.ts';
import { tame } from '../../render/text/page.ts';

const words: Record<Stage, string> = {
  looking: 'Looking at what is there',
  reading: 'Reading',
  writing: 'Writing',
  'reading-back': 'Reading back',
};

interface Meter {
  readonly stage: Stage;
  readonly startedMs: number;
  doneBytes: number;
  totalBytes: number;
}

export interface Progress {
  readonly tell: Tell;
  readonly end: () => void;
}

/** On a terminal one line a target, redrawn ten times a second; elsewhere a plain line when a stage begins and ends. */
export function startProgress(stream: NodeJS.WriteStream, { quiet }: { quiet: boolean }): Progress {
  if (quiet) return { tell: () => {}, end: () => {} };
  return stream.isTTY === true && process.env.TERM !== 'dumb' ? liveProgress(stream) : plainProgress(stream);
}

function plainProgress(stream: NodeJS.WriteStream): Progress {
  const meters = new Map<string, Meter>();
  const finish = (target: string): void => {
    const meter = meters.get(target);
    meters.delete(target);
    if (meter !== undefined)
      stream.write(`${words[meter.stage]} ${tame(target)}: ${roundedSize(meter.doneBytes)}, ${rateOf(meter)}\n`);
  };
  return {
    tell: (event) => {
      if (event.kind === 'stage') {
        finish(event.target);
        meters.set(event.target, begin(event));
      } else if (event.kind === 'progress') follow(meters, event);
    },
    end: () => {
      for (const target of [...meters.keys()]) finish(target);
    },
  };
}

function liveProgress(stream: NodeJS.WriteStream): Progress {
  const meters = new Map<string, Meter>();
  let drawnLines = 0;
  let drawnMs = 0;
  const erase = (): void => {
    if (drawnLines > 0) stream.write(`\x1b[${drawnLines}A\x1b[0J`);
    drawnLines = 0;
  };
  const draw = (): void => {
    erase();
    const lines = [...meters].map(([target, meter]) => liveLine(target, meter, stream.columns ?? 80));
    stream.write(lines.map((line) => `${line}\n`).join(''));
    drawnLines = lines.length;
    drawnMs = performance.now();
  };
  return {
    tell: (event) => {
      if (event.kind === 'stage') meters.set(event.target, begin(event));
      else if (event.kind === 'progress') follow(meters, event);
      else return;
      if (event.kind === 'stage' || performance.now() - drawnMs > 100) draw();
    },
    end: erase,
  };
}

const begin = ({ stage, totalBytes }: Extract<WorkEvent, { kind: 'stage' }>): Meter => ({
  stage,
  startedMs: performance.now(),
  doneBytes: 0,
  totalBytes,
});

function follow(meters: Map<string, Meter>, event: Extract<WorkEvent, { kind: 'progress' }>): void {
  const meter = meters.get(event.target);
  if (meter === undefined) return;
  meter.doneBytes = event.doneBytes;
  meter.totalBytes = event.totalBytes;
}

function rateOf({ doneBytes, startedMs }: Meter): string {
  const seconds = Math.max(0.001, (performance.now() - startedMs) / 1000);
  return `${roundedSize(doneBytes / seconds)}/s`;
}

/** `Writing      ######------  412 MB of 1.20 GB  31.2 MB/s  0:25 left  /media/stick`. */
function liveLine(target: string, meter: Meter, columns: number): string {
  const { doneBytes, totalBytes, startedMs, stage } = meter;
  const share = totalBytes === 0 ? 1 : Math.min(1, doneBytes / totalBytes);
  const bar = '#'.repeat(Math.round(share * 16)).padEnd(16, '-');
  const leftSeconds = share > 0 ? ((performance.now() - startedMs) / 1000 / share) * (1 - share) : undefined;
  const left = leftSeconds === undefined ? '' : `  ${clock(leftSeconds)} left`;
  const line = `${words[stage].padEnd(13)} ${bar}  ${roundedSize(doneBytes)} of ${roundedSize(totalBytes)}  ${rateOf(meter)}${left}  ${tame(target)}`;
  return line.slice(0, columns - 1);
}

const clock = (seconds: number): string =>
  `${Math.floor(seconds / 60)}:${String(Math.round(seconds % 60)).padStart(2, '0')}`;
