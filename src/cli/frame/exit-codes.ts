import type { Verdict } from '../../core/findings/finding.ts';
import { exitCodeOf, exitCodesOfVerdicts } from '../../core/model/exit-codes.ts';
import type { ToolError } from '../../core/model/tool-error.ts';
import { interruptedBy } from './interruption.ts';

/** Documented in the README; scripts rest on them. */
export const exitCodes = {
  ...exitCodesOfVerdicts,
  usage: 2,
  toolError: 3,
  bug: 70,
  /** 128 and the signal's number, as shells have it: Ctrl-C, or a polite kill. */
  get interrupted(): 130 | 143 {
    return interruptedBy() === 'SIGTERM' ? 143 : 130;
  },
} as const;

export { exitCodeOf };

export const exitCodeOfError = ({ code }: ToolError): number => (code === 'bug' ? exitCodes.bug : exitCodes.toolError);

export interface SticksReport {
  readonly interrupted: boolean;
  readonly sticks: readonly { readonly error?: ToolError | undefined }[];
  readonly verdict: Verdict;
}

/**
 * An interruption counts before everything, then a stick that failed (a fault of the tool on one of them is the worst
 * that can be said), then the verdict.
 */
export function exitCodeOfSticks({ interrupted, sticks, verdict }: SticksReport): number {
  if (interrupted) return exitCodes.interrupted;
  const failed = sticks.flatMap(({ error }) => (error === undefined ? [] : [exitCodeOfError(error)]));
  return failed.length === 0 ? exitCodeOf(verdict) : Math.max(...failed);
}

/** The words of the command line do not fit together: exit code 2. */
export class UsageError extends Error {
  readonly todo: string;

  constructor(message: string, todo: string) {
    super(message);
    this.name = 'UsageError';
    this.todo = todo;
  }
}
