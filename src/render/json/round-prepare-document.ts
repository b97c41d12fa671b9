import type { ReportDocument } from '../../core/report/report-schema.ts';
import type { RoundPrepareReport } from '../../core/report/round-prepare-report.ts';
import type { Preparation } from '../../core/rounds/prepare/list-preparations.ts';
import { findingsOf, head, prepareDocument, toolErrorOf } from './to-json.ts';

export const roundPrepareDocument = (report: RoundPrepareReport, exitCode: number): ReportDocument => ({
  ...head(report.command, report.verdict, exitCode),
  findings: findingsOf(report.findings),
  place: report.place,
  dryRun: report.dryRun,
  interrupted: report.interrupted,
  sticks: report.sticks.map((stick) => ({
    ...preparationOf(stick.preparation),
    target: stick.target,
    verdict: stick.verdict,
    code: stick.code ?? null,
    findings: findingsOf(stick.findings),
    report: stick.report === undefined ? null : prepareDocument(stick.report, exitCode),
    error: stick.error === undefined ? null : toolErrorOf(stick.error),
  })),
  left: report.left.map(preparationOf),
  ofOtherLoads: report.ofOtherLoads,
});

const preparationOf = ({ load, number, of }: Preparation) => ({
  load: load.id,
  number,
  of,
  package: load.package.name,
  sha256: load.package.sha256,
  mode: load.mode,
  wipes: load.wipes,
});
