import { type Finding, verdictOf, worstOf } from '../core/findings/finding.ts';
import { exitCodeOf } from '../core/model/exit-codes.ts';
import type { Mode } from '../core/model/mode.ts';
import type { ReportDocument } from '../core/report/report-schema.ts';
import type { StickAnswer } from '../core/report/reports.ts';
import { prepareDocument } from '../render/json/to-json.ts';
import type { Job } from '../workflows/ports.ts';

/** What would be written, before anybody agreed: the document of a dry run. */
export function proposalOf(
  job: Job,
  mode: Mode,
  findings: readonly Finding[],
  sticks: readonly StickAnswer[],
): ReportDocument {
  const verdict = worstOf([verdictOf(findings), ...sticks.map((stick) => stick.verdict)]);
  const archive = { facts: job.archive, package: job.package, digests: undefined, inside: undefined };
  const { rules, label } = job;
  const base = { command: 'prepare', verdict, dryRun: true, mode, rules, archive, label } as const;
  return prepareDocument({ ...base, findings, sticks, interrupted: false }, exitCodeOf(verdict));
}
