import type { Tell, WorkEvent } from '../../core/report/reports.ts';
import { Meters } from '../../render/text/render-progress.ts';

export interface Progress {
  readonly tell: Tell;
  readonly end: () => void;
}

const drawEveryMs = 100;
/** Nobody wants more of it in a log, and less looks as if nothing happened. */
const sayEveryMs = 30_000;

/** On a terminal a few lines, redrawn ten times a second; elsewhere a line when a stage ends, and every 30 seconds. */
export function startProgress(stream: NodeJS.WriteStream, { quiet }: { quiet: boolean }): Progress {
  if (quiet) return { tell: () => {}, end: () => {} };
  return stream.isTTY === true && process.env.TERM !== 'dumb' ? liveProgress(stream) : plainProgress(stream);
}

const say = (stream: NodeJS.WriteStream, lines: readonly string[]): void =>
  void stream.write(lines.map((line) => `${line}\n`).join(''));

function plainProgress(stream: NodeJS.WriteStream): Progress {
  const meters = new Meters();
  let timer: NodeJS.Timeout | undefined;
  const finish = (target: string): void => {
    const line = meters.stageDone(target, performance.now());
    if (line !== undefined) say(stream, [line]);
  };
  const sayAll = (): void => say(stream, meters.lines(performance.now(), Number.POSITIVE_INFINITY));
  return {
    tell: (event) => {
      timer ??= setInterval(sayAll, sayEveryMs).unref();
      if (event.kind === 'stage') finish(event.target);
      meters.hear(event, performance.now());
    },
    end: () => {
      clearInterval(timer);
      timer = undefined;
      for (const target of meters.targets) finish(target);
      meters.clear();
    },
  };
}

function liveProgress(stream: NodeJS.WriteStream): Progress {
  const meters = new Meters();
  let drawnLines = 0;
  let drawnMs = 0;
  const erase = (): void => {
    if (drawnLines > 0) stream.write(`\x1b[${drawnLines}A\x1b[0J`);
    drawnLines = 0;
  };
  const draw = (): void => {
    erase();
    const lines = meters.lines(performance.now(), stream.columns || 80);
    say(stream, lines);
    drawnLines = lines.length;
    drawnMs = performance.now();
  };
  return {
    tell: (event) => {
      meters.hear(event, performance.now());
      const isNews = event.kind === 'stage' || event.kind === 'end';
      if (isNews || (event.kind === 'progress' && performance.now() - drawnMs > drawEveryMs)) draw();
    },
    end: () => {
      erase();
      meters.clear();
    },
  };
}

/** Between two lines of one stage there is at least that long. */
const documentsEveryMs = 1000;

/** For programs that wait: a document a line, when a stage begins and every second of it. */
export function tellProgress(stream: NodeJS.WriteStream, { quiet }: { readonly quiet?: true }): Progress {
  const told = new Map<string, number>();
  const write = (event: WorkEvent): void =>
    say(stream, [JSON.stringify({ schema: 'stickwright/progress/1', ...event })]);
  return {
    tell: (event) => {
      if (quiet || event.kind === 'item' || event.kind === 'plan') return;
      const now = performance.now();
      if (event.kind === 'progress' && now - (told.get(event.target) ?? 0) < documentsEveryMs) return;
      told.set(event.target, now);
      write(event);
    },
    end: () => {},
  };
}
