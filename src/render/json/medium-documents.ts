import type { FormatReport, ProveReport } from '../../core/report/medium-reports.ts';
import type { ReportDocument } from '../../core/report/report-schema.ts';
import { findingsOf } from './to-json.ts';

export const formatDocument = (report: FormatReport, exitCode: number): ReportDocument => ({
  schema: 'stickwright/report/1',
  command: 'format',
  verdict: report.verdict,
  exitCode,
  findings: findingsOf(report.findings),
  state: report.state,
  mode: report.mode,
  medium: report.medium,
  losses: report.losses,
  plan: report.plan,
  made: report.made ?? null,
  readBack: report.readBack ?? null,
});

export const proveDocument = (report: ProveReport, exitCode: number): ReportDocument => ({
  schema: 'stickwright/report/1',
  command: 'prove',
  verdict: report.verdict,
  exitCode,
  findings: findingsOf(report.findings),
  state: report.state,
  target: report.target,
  medium: report.medium ?? null,
  losses: report.losses ?? null,
  proof: report.proof ?? null,
});
