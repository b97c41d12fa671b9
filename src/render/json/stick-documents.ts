import type { DriveEvent } from '../../core/checks/stick/compare-drives.ts';
import type { JudgedDrive, ModeAnswer } from '../../core/checks/stick/judge-drive.ts';
import { isOfPanel } from '../../core/contents/content-kinds.ts';
import type { SortedEntry } from '../../core/contents/sort-contents.ts';
import type { Verdict } from '../../core/findings/finding.ts';
import type { DeskItem } from '../../core/guide/judge-desk.ts';
import type { Family } from '../../core/model/family.ts';
import type { SettingSeen } from '../../core/model/settings.ts';
import type { FormatReport, ProveReport, ReturnedReport } from '../../core/report/medium-reports.ts';
import type { ReportDocument } from '../../core/report/report-schema.ts';
import type { FamilyNewReport, FamilyReport } from '../../core/report/reports.ts';
import { findingsOf, head } from './to-json.ts';

/** A list has no verdict of its own; each drive has its answer for each mode. */
export const drivesDocument = (drives: readonly JudgedDrive[]): ReportDocument => ({
  ...head('drives', null, 0),
  findings: [],
  drives: drives.map(driveOf),
});

/** The first line of a watch: what was plugged in at the start. */
export const watchedDrivesDocument = (drives: readonly JudgedDrive[], at: string): ReportDocument => ({
  ...drivesDocument(drives),
  at,
});

/** Any further line of a watch. AT is a moment as ISO 8601, UTC. */
export const driveEventDocument = (event: DriveEvent, at: string): ReportDocument => ({
  ...head('drives', null, 0),
  findings: [],
  at,
  event: {
    kind: event.kind,
    of: event.of,
    device: event.device,
    drive: event.drive,
    changed: event.changed,
    before: event.before === undefined ? null : driveOf(event.before),
    after: event.after === undefined ? null : driveOf(event.after),
  },
});

const driveOf = ({ volumes, modes, ...facts }: JudgedDrive) => ({
  ...untoldAsNull(facts),
  volumes: volumes.map(untoldAsNull),
  modes: modes.map(modeOf),
});

const modeOf = ({ reason, ...answer }: ModeAnswer) => ({
  ...untoldAsNull(answer),
  reason: reason === undefined ? null : (findingsOf([reason])[0] ?? null),
});

/** What the operating system does not tell stays in the document, as null. */
const untoldAsNull = (facts: object): Record<string, unknown> =>
  Object.fromEntries(Object.entries(facts).map(([name, value]) => [name, value ?? null]));

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

/** A cleared stick is neither ready nor not: it is empty, and its verdict is null. */
export const returnedDocument = (report: ReturnedReport, exitCode: number): ReportDocument => ({
  ...head('verify', report.clearing.state === 'cleared' ? null : report.verdict, exitCode),
  findings: findingsOf(report.findings),
  stick: { ...report.stick },
  manifest: report.manifest ?? null,
  filesRead: report.filesRead,
  bytesRead: report.bytesRead,
  returned: {
    conclusion: report.conclusion,
    state: report.state,
    left: report.sorted.filter((entry) => isOfPanel(entry.what) && entry.isNew).map(entryOf),
    contents: report.sorted.map((entry) => ({ ...entryOf(entry), isNew: entry.isNew })),
    kept: report.kept ?? null,
    clearing: clearingOf(report),
  },
});

const entryOf = ({ path, kind, bytes, what }: SortedEntry) => ({ path, kind, bytes, what });

function clearingOf({ clearing: { state, plan, findings } }: ReturnedReport) {
  return {
    state,
    findings: findingsOf(findings),
    plan:
      plan === undefined
        ? null
        : {
            goes: plan.steps.flat(),
            stays: plan.stays.map(entryOf),
            kept: plan.kept.map(entryOf),
            freedBytes: plan.freedBytes,
            settlesDirtyMark: plan.settlesDirtyMark,
          },
  };
}

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

export const settingsDocument = (path: string, seen: readonly SettingSeen[], exitCode: number): ReportDocument => ({
  ...head('settings', null, exitCode),
  findings: [],
  path,
  settings: seen.map(({ setting, value, from, objection }) => ({
    name: setting.name,
    value: from === 'default' ? null : value,
    from,
    variable: setting.variable,
    word: setting.word ?? null,
    objection: objection ?? null,
  })),
});

export const deskDocument = (verdict: Verdict, items: readonly DeskItem[], exitCode: number): ReportDocument => ({
  ...head('check-desk', verdict, exitCode),
  findings: [],
  desk: items.map((item) => ({ ...item })),
});
