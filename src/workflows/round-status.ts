import type { Verdict } from '../core/findings/verdict.ts';
import { verdictOf } from '../core/findings/verdict.ts';
import type { RoundStatusReport } from '../core/report/round-record-reports.ts';
import type { RoundStatus } from '../core/rounds/records/round-status.ts';
import { type RoundDesk, readRound } from './round-desk.ts';

/** How far the round is. Ready: every room that the plan updates is done. */
export async function roundStatus(desk: RoundDesk): Promise<RoundStatusReport> {
  const { status, findings: known } = await readRound(desk);
  const findings = [...status.findings, ...known];
  const base = { command: 'round status', place: desk.folder.place, status, findings } as const;
  return { ...base, verdict: roundVerdict(status, verdictOf(findings)) };
}

/** Not ready while a room is left to do; unproven where it is only not clear whether all are done. */
export function roundVerdict({ counts }: RoundStatus, ofFindings: Verdict): Verdict {
  const left = counts.open + counts.prepared + counts['under-way'] + counts.failed + counts.skipped;
  if (left > 0) return 'not-ready';
  return counts.unclear > 0 && ofFindings === 'ready' ? 'unproven' : ofFindings;
}
