import type { Family } from '../../core/model/family.ts';
import type { FamilyNewReport, FamilyReport } from '../../core/report/family-reports.ts';
import type { ReportDocument } from '../../core/report/report-schema.ts';
import { findingsOf, head } from './to-json.ts';

export const familyDocument = (report: FamilyReport, exitCode: number): ReportDocument => ({
  ...head(report.command, report.command === 'family check' ? report.verdict : null, exitCode),
  findings: findingsOf(report.findings),
  families: report.families.map(familyOf),
});

export const familyNewDocument = (report: FamilyNewReport, exitCode: number): ReportDocument => ({
  ...head(report.command, report.verdict, exitCode),
  findings: findingsOf(report.findings),
  path: report.path ?? null,
  text: report.text,
  readings: report.proposal.readings.map(({ text, parts }) => ({ text, parts: parts ?? null })),
});

const familyOf = ({ source, sha256, ...content }: Family) => ({ source, sha256, content });
