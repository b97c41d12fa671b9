import type { Verdict } from '../core/findings/finding.ts';
import type { ToolError } from '../core/model/tool-error.ts';
import { interruptedBy } from './interruption.ts';

/** Documented in the README; scripts rest on them. */
export const exitCodes = {
  ready: 0,
  'not-ready': 1,
  usage: 2,
  toolError: 3,
  unproven: 4,
  bug: 70,
  /** 128 and the signal's number, as shells have it: Ctrl-C, or a polite kill. */
  get interrupted(): 130 | 143 {
    return interruptedBy() === 'SIGTERM' ? 143 : 130;
  },
} as const;

export const exitCodeOf = (verdict: Verdict): number => exitCodes[verdict];

export const exitCodeOfError = ({ code }: ToolError): number => (code === 'bug' ? exitCodes.bug : exitCodes.toolError);

/** Of several sticks: a fault of the tool on one of them is the worst that can be said. */
export const exitCodeOfErrors = (errors: readonly ToolError[]): number | undefined =>
  errors.length === 0 ? undefined : Math.max(...errors.map(exitCodeOfError));
