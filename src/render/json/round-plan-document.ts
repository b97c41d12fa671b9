import type { ReportDocument } from '../../core/report/report-schema.ts';
import type { RoundPlanReport } from '../../core/report/round-plan-report.ts';
import { findingsOf, head } from './to-json.ts';

export const roundPlanDocument = (report: RoundPlanReport, exitCode: number): ReportDocument => ({
  ...head(report.command, report.verdict, exitCode),
  findings: findingsOf(report.findings),
  place: report.place,
  kept: report.kept,
  counts: { ...report.counts },
  minutesFrom: Object.fromEntries(report.minutesFrom),
  firstComeMinutes: report.firstComeMinutes ?? null,
  round: report.round ?? null,
});
