import { isOfPanel, type SortedEntry } from '../../core/checks/returned/sort-contents.ts';
import type { ReportDocument } from '../../core/report/report-schema.ts';
import type { ReturnedReport } from '../../core/report/returned-report.ts';
import { findingsOf, head } from './to-json.ts';

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
    left: report.sorted.filter((entry) => isOfPanel(entry) && entry.isNew).map(entryOf),
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
