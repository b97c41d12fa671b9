import type { Look } from '../render/text/page.ts';

interface Stream {
  readonly isTTY?: boolean;
  readonly columns?: number;
}

/** Whether a stream takes colour: NO_COLOR and FORCE_COLOR (no-color.org, force-color.org), TERM=dumb, a terminal. */
export function takesColour(stream: Stream, environment: NodeJS.ProcessEnv): boolean {
  if ((environment.NO_COLOR ?? '') !== '') return false;
  if ((environment.FORCE_COLOR ?? '') !== '') return environment.FORCE_COLOR !== '0';
  return stream.isTTY === true && environment.TERM !== 'dumb';
}

export const lookOf = (stream: Stream, environment: NodeJS.ProcessEnv): Look => ({
  colour: takesColour(stream, environment),
  columns: Math.min(stream.columns ?? 80, 120),
});

export const isInteractive = (): boolean => process.stdin.isTTY === true && process.stderr.isTTY === true;

let lost: Error | undefined;

/**
 * Listens for what cannot be written: a full disk behind `>`, say. The work goes on as if it could, and is told afterwards by
 * the exit code. A reader that went away (`| head`) ends it quietly, also where commander writes.
 */
export function watchOutput(): void {
  const hear = (error: NodeJS.ErrnoException): void => {
    if (error.code !== 'EPIPE') lost ??= error;
  };
  process.stdout.on('error', hear);
  process.stderr.on('error', hear);
}

/** Resolves when all that was written is out, or is known not to be. */
export async function outputSettled(): Promise<void> {
  for (const stream of [process.stdout, process.stderr])
    await new Promise<void>((resolve) => stream.write('', () => setImmediate(resolve)));
}

/** Why something that was to be read by a person or a script was not written; undefined where all was. */
export const lostOutput = (): Error | undefined => lost;

/** Writes a whole answer to stdout, one piece when the one before is out, or cannot be: see `watchOutput`. */
export async function say(answer: string | Uint8Array | Iterable<string>): Promise<void> {
  const pieces = typeof answer === 'string' || answer instanceof Uint8Array ? [answer] : answer;
  for (const piece of pieces) await new Promise<void>((resolve) => process.stdout.write(piece, () => resolve()));
}
