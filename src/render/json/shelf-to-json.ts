import type { ReportDocument } from '../../core/report/report-schema.ts';
import type {
  CompareReport,
  ShelfAddReport,
  ShelfCheckReport,
  ShelfExportReport,
  ShelfFindReport,
  ShelfListReport,
  ShelfRemoveReport,
} from '../../core/report/shelf-reports.ts';
import type { ShelvedPackage } from '../../core/shelf/shelf-record.ts';
import { findingsOf, head, labelOf, toolErrorOf } from './to-json.ts';

export const shelfAddDocument = (report: ShelfAddReport, exitCode: number): ReportDocument => ({
  ...head(report.command, report.verdict, exitCode),
  findings: findingsOf(report.findings),
  shelf: report.place,
  additions: report.additions.map((one) => ({
    archive: one.archivePath,
    state: one.state,
    verdict: one.verdict,
    findings: findingsOf(one.findings),
    package: one.shelved === undefined ? null : packageOf(one.shelved),
    error: one.error === undefined ? null : toolErrorOf(one.error),
  })),
});

export const shelfListDocument = (report: ShelfListReport, exitCode: number): ReportDocument => ({
  ...head(report.command, report.verdict, exitCode),
  findings: findingsOf(report.findings),
  shelf: report.place,
  packages: report.packages.map(packageOf),
});

export const shelfFindDocument = (report: ShelfFindReport, exitCode: number): ReportDocument => ({
  ...head(report.command, report.verdict, exitCode),
  findings: findingsOf(report.findings),
  shelf: report.place,
  label: labelOf(report.answer.label),
  chosen: report.answer.chosen === undefined ? null : packageOf(report.answer.chosen),
  newest: report.answer.newest === undefined ? null : packageOf(report.answer.newest),
  steps: report.answer.steps.map(({ build, because, shelved }) => ({
    build,
    because: because ?? null,
    name: shelved?.record.name ?? null,
    sha256: shelved?.record.sha256 ?? null,
  })),
  fitting: report.answer.fitting.map(shortOf),
  nearMisses: report.answer.nearMisses.map(({ shelved, parts }) => ({ ...shortOf(shelved), parts })),
  prepare: report.prepare ?? null,
});

export const shelfCheckDocument = (report: ShelfCheckReport, exitCode: number): ReportDocument => ({
  ...head(report.command, report.verdict, exitCode),
  findings: findingsOf(report.findings),
  shelf: report.place,
  packagesRead: report.packagesRead,
  bytesRead: report.bytesRead,
});

export const shelfRemoveDocument = (report: ShelfRemoveReport, exitCode: number): ReportDocument => ({
  ...head(report.command, report.verdict, exitCode),
  findings: findingsOf(report.findings),
  shelf: report.place,
  removed: report.removed.map(shortOf),
});

export const shelfExportDocument = (report: ShelfExportReport, exitCode: number): ReportDocument => ({
  ...head(report.command, report.verdict, exitCode),
  findings: findingsOf(report.findings),
  shelf: report.place,
  exported: report.exported.map(({ shelved, to, state }) => ({ ...shortOf(shelved), to, state })),
});

export const compareDocument = (report: CompareReport, exitCode: number): ReportDocument => ({
  ...head(report.command, report.verdict, exitCode),
  findings: findingsOf(report.findings),
  running: report.running,
  name: report.name ?? null,
  packaged: report.packaged ?? null,
  order: report.order ?? null,
  steps: report.steps.map(({ build, because }) => ({ build, because: because ?? null })),
});

const packageOf = ({ id, path, record }: ShelvedPackage) => ({ id, path, record });

const shortOf = ({ path, record: { name, sha256, build } }: ShelvedPackage) => ({ name, sha256, build, path });
