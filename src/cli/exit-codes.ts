import type { Verdict } from '../core/findings/verdict.ts';

/** Documented in the README; scripts rest on them. */
export const exitCodes = {
  ready: 0,
  'not-ready': 1,
  usage: 2,
  toolError: 3,
  unproven: 4,
  bug: 70,
  interrupted: 130,
} as const;

export const exitCodeOf = (verdict: Verdict): number => exitCodes[verdict];
