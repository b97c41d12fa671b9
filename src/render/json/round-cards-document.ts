import type { ReportDocument } from '../../core/report/report-schema.ts';
import type { RoundCardsReport } from '../../core/report/round-cards-report.ts';
import { findingsOf, head } from './to-json.ts';

export const roundCardsDocument = (report: RoundCardsReport, exitCode: number): ReportDocument => ({
  ...head(report.command, report.verdict, exitCode),
  findings: findingsOf(report.findings),
  place: report.place,
  paper: report.paper,
  files: report.files,
  dropped: report.dropped,
  cards: report.cards,
  pages: report.pages,
  tags: report.tags,
  without: report.without,
});
