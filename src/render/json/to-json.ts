import { causeOf } from '../../core/findings/blocks.ts';
import { type Finding, inOrder, severityOf, textsOf, verdictOf } from '../../core/findings/finding.ts';
import type { LabelReading, PackageReading } from '../../core/model/panel-identity.ts';
import type { ToolError } from '../../core/model/tool-error.ts';
import type { ReportDocument } from '../../core/report/report-schema.ts';
import type {
  InspectReport,
  LabelListReport,
  LabelReport,
  PrepareReport,
  StickAnswer,
  VerifyReport,
} from '../../core/report/reports.ts';
import type { ArchiveAnswer } from '../../core/update-package/update-package-facts.ts';

const reportSchemaId = 'stickwright/report/1' as const;

export const head = <Command extends string>(
  command: Command,
  verdict: ReportDocument['verdict'],
  exitCode: number,
) => ({
  schema: reportSchemaId,
  command,
  verdict,
  exitCode,
});

export const inspectDocument = (report: InspectReport, exitCode: number): ReportDocument => ({
  ...head('inspect', report.verdict, exitCode),
  findings: findingsOf(report.findings),
  archive: archiveOf(report.archive),
  label: report.label === undefined ? null : labelOf(report.label),
});

export const labelDocument = (report: LabelReport, exitCode: number): ReportDocument => ({
  ...head('label', report.verdict, exitCode),
  findings: findingsOf(report.findings),
  label: labelOf(report.label),
});

export const labelListDocument = (report: LabelListReport, exitCode: number): ReportDocument => ({
  ...head('label', report.verdict, exitCode),
  findings: [],
  labels: report.labels.map(({ line, reading, findings }) => ({
    line,
    verdict: verdictOf(findings),
    findings: findingsOf(findings),
    label: labelOf(reading),
  })),
});

export const prepareDocument = (report: PrepareReport, exitCode: number): ReportDocument => ({
  ...head('prepare', report.verdict, exitCode),
  dryRun: report.dryRun,
  interrupted: report.interrupted,
  mode: report.mode,
  findings: findingsOf(report.findings),
  archive: archiveOf(report.archive),
  label: labelOf(report.label),
  sticks: report.sticks.map(stickOf),
});

export const verifyDocument = (report: VerifyReport, exitCode: number): ReportDocument => ({
  ...head('verify', report.verdict, exitCode),
  findings: findingsOf(report.findings),
  stick: { ...report.stick },
  manifest: report.manifest ?? null,
  filesRead: report.filesRead,
  bytesRead: report.bytesRead,
});

/** Where there is no answer: a tool error, wrong usage, an interruption, a bug. */
export const errorDocument = (error: ReportDocument['error'], exitCode: number): ReportDocument => ({
  schema: reportSchemaId,
  command: null,
  verdict: null,
  exitCode,
  findings: [],
  error,
});

export const toolErrorOf = ({ code, subject, message, todo }: ToolError): NonNullable<ReportDocument['error']> => ({
  code,
  subject,
  message,
  todo,
});

export function findingsOf(findings: readonly Finding[]): ReportDocument['findings'] {
  return inOrder(findings).map((found) => ({
    code: found.code,
    severity: severityOf(found),
    subject: found.subject,
    ...textsOf(found),
    facts: found.facts,
    ...(found.acceptedBecause === undefined ? {} : { acceptedBecause: found.acceptedBecause }),
    ...followsFrom(found, findings),
  }));
}

function followsFrom(found: Finding, findings: readonly Finding[]): { readonly followsFrom?: string } {
  const cause = causeOf(found, findings);
  return cause === undefined ? {} : { followsFrom: cause.code };
}

const archiveOf = ({ facts, package: named, digests, inside }: ArchiveAnswer) => ({
  path: facts.path,
  fileName: facts.fileName,
  bytes: facts.bytes,
  entries: facts.entries.length,
  digests: digests ?? null,
  package: packageOf(named),
  inside: inside ?? null,
});

const packageOf = ({ readings }: PackageReading) =>
  readings.map(({ family, parts, build, agree }) => ({ family: family.family, parts, build: build ?? null, agree }));

export const labelOf = ({ text, normalised, readings }: LabelReading) => ({
  text,
  normalised,
  readings: readings.map(({ family, parts }) => ({ family: family.family, parts })),
});

const stickOf = (stick: StickAnswer) => ({
  target: stick.target,
  state: stick.state,
  verdict: stick.verdict,
  findings: findingsOf(stick.findings),
  facts: stick.facts ?? null,
  plan: stick.plan ?? null,
  manifest: stick.manifest ?? null,
  error: stick.error === undefined ? null : toolErrorOf(stick.error),
});
