import type { Finding } from '../findings/finding.ts';
import type { Verdict } from '../findings/verdict.ts';
import type { FamilyProposal } from '../label/propose-family.ts';
import type { Family } from '../model/family.ts';

/** Families that were looked at: all of a desk for `list` and `check`, one for `show`. */
export interface FamilyReport {
  readonly command: 'family check' | 'family list' | 'family show';
  readonly verdict: Verdict;
  readonly findings: readonly Finding[];
  readonly families: readonly Family[];
}

export interface FamilyNewReport {
  readonly command: 'family new';
  readonly verdict: Verdict;
  /** About the proposed file, alone and beside the families that are there. */
  readonly findings: readonly Finding[];
  readonly proposal: FamilyProposal;
  /** The text of the file. */
  readonly text: string;
  /** Where it was written; undefined where it was not. */
  readonly path: string | undefined;
}
