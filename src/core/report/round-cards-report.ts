import type { Finding } from '../findings/finding.ts';
import type { Verdict } from '../findings/verdict.ts';

/** What was printed of a round. */
export interface RoundCardsReport {
  readonly command: 'round cards';
  readonly verdict: Verdict;
  readonly findings: readonly Finding[];
  readonly paper: 'a5' | 'a6';
  /** Folder of the files. */
  readonly place: string;
  /** Names of the files there, as they were written. */
  readonly files: readonly string[];
  /** Earlier prints that were taken away, because they would say something else now. */
  readonly dropped: readonly string[];
  readonly cards: number;
  readonly pages: number;
  readonly tags: number;
  /** Keys of rooms that were asked for and take no stick, with their state. */
  readonly without: readonly { readonly room: string; readonly state: string }[];
}
