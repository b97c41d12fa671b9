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

/** Writes a whole answer to stdout, one piece when the one before is out; a reader that went away (`| head`) ends it quietly. */
export async function say(answer: string | Iterable<string>): Promise<void> {
  for (const text of typeof answer === 'string' ? [answer] : answer) {
    await new Promise<void>((resolve, reject) => {
      process.stdout.write(text, (error) => {
        if (error == null || ('code' in error && error.code === 'EPIPE')) resolve();
        else reject(error);
      });
    });
  }
}
