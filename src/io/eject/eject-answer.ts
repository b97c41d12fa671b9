import type { SystemProgram } from '../programs/find-program.ts';

/** Whether a stick may be pulled now, and if not, why. */
export type EjectAnswer =
  | { readonly state: 'pull-it-now'; readonly poweredOff: boolean }
  /** REASON ends a sentence that begins with "It could not be let go of:". */
  | { readonly state: 'not-yet'; readonly reason: string; readonly todo: string };

/** One program of the system with its words; rejects with what it said. */
export type RunProgram = (program: SystemProgram, args: readonly string[]) => Promise<string>;
