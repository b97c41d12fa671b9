import { lostOutput } from './screen.ts';

export interface Interruption {
  /**
   * For work that stops at a clean place by itself: from here on nobody else cuts it off. Ctrl-C stops it only where
   * MAY STOP says so, or where it is pressed again meanwhile.
   */
  take(mayStop?: MayStop): AbortSignal;
  /** What WORK answers. While it has not taken the signal, a signal cuts it off where it stands, and this throws. */
  orCutOff<Answer>(work: Promise<Answer>): Promise<Answer>;
  end(): void;
}

/** Asks whether the work is to be stopped. */
export type MayStop = () => Promise<boolean>;

const exitCodeOfSignal = { SIGINT: 130, SIGTERM: 143 } as const;
type Interrupting = keyof typeof exitCodeOfSignal;

let first: Interrupting | undefined;
let cutOff = false;
/** Every piece of work that can be interrupted now. */
const working = new Set<AbortController>();

/** What stopped this run; undefined where nothing did. */
export const interruptedBy = (): Interrupting | undefined => first;

/** Whether work was left where it stood: it must not go on behind the answer. */
export const wasCutOff = (): boolean => cutOff;

const interruption = (name: Interrupting): Error => new Error(`interrupted by ${name}`);

/**
 * The first Ctrl-C (or a polite kill) lets the work stop at a clean place and say what is unfinished, or cuts off what
 * has no such places; the second ends the process at once. A stick is safe in both cases: without its manifest it says
 * not ready.
 */
export function watchInterruption(stderr: NodeJS.WriteStream): Interruption {
  const controller = new AbortController();
  const { signal } = controller;
  let taken = false;
  let mayStop: MayStop | undefined;
  let isAsking = false;
  const cut = new Promise<never>((_, reject) => {
    signal.addEventListener('abort', () => {
      if (taken) return;
      cutOff = true;
      reject(signal.reason);
    });
  });
  cut.catch(() => {}); // told by whoever waits for the work
  working.add(controller);
  const hear = (name: Interrupting): void => {
    if (signal.aborted) process.exit(exitCodeOfSignal[name]);
    if (name !== 'SIGINT' || mayStop === undefined || isAsking) stop(name);
    else void askFirst(mayStop);
  };
  /** Where the question itself was interrupted, whoever asked has stopped all. */
  const askFirst = async (may: MayStop): Promise<void> => {
    isAsking = true;
    const stops = await may().catch(() => true);
    isAsking = false;
    if (stops && !signal.aborted) stop('SIGINT');
  };
  const stop = (name: Interrupting): void => {
    first ??= name;
    if (taken) stderr.write('\nStopping. Press Ctrl-C again to stop at once.\n');
    controller.abort(interruption(name));
  };
  process.on('SIGINT', hear);
  process.on('SIGTERM', hear);
  return {
    take: (may) => {
      taken = true;
      mayStop = may;
      return signal;
    },
    orCutOff: (work) => Promise.race([work, cut]),
    end: () => {
      working.delete(controller);
      // Whoever is impatient while the process says how to go on still gets the documented exit code.
      if (signal.aborted) return;
      process.off('SIGINT', hear);
      process.off('SIGTERM', hear);
    },
  };
}

/** What every prompt takes: it is drawn on stderr, and a signal ends it. */
export interface Asking {
  readonly output: NodeJS.WriteStream;
  readonly signal: AbortSignal;
}

/** @inquirer/core: Ctrl-C and a terminal that went away; a signal that came while it waited. */
const noAnswers: ReadonlySet<string> = new Set(['ExitPromptError', 'AbortPromptError', 'CancelPromptError']);

/**
 * Asks a person. Ctrl-C at a question, or a signal, is no answer but an interruption, and throws as one. Where what the
 * question is about could not be shown, nobody is asked.
 */
export async function ask<Answer>(question: (asking: Asking) => Promise<Answer>): Promise<Answer> {
  const unseen = lostOutput();
  if (unseen !== undefined) throw unseen;
  const controllers = [...working];
  try {
    const signal = AbortSignal.any(controllers.map((one) => one.signal));
    return await question({ output: process.stderr, signal });
  } catch (error) {
    if (!(error instanceof Error) || !noAnswers.has(error.name)) throw error;
    first ??= 'SIGINT';
    const reason = interruption(first);
    for (const controller of controllers) controller.abort(reason);
    throw reason;
  }
}
