import type { EjectAnswer } from './eject-answer.ts';

/** What a program said in its last line, which is where they put the reason. */
export function explainRefusal(error: unknown): EjectAnswer {
  const text = error instanceof Error ? error.message : String(error);
  const reason = text
    .split('\n')
    .map((line) => line.trim())
    .filter((line) => line !== '')
    .at(-1);
  return {
    state: 'not-yet',
    reason: reason ?? 'the system gave no reason',
    todo: 'Close the windows and programs that show the stick, wait for its light to rest, and eject it again. Do not pull it before.',
  };
}
