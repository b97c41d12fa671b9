import { checkLabel } from '../core/checks/fit/check-label.ts';
import { verdictOf } from '../core/findings/verdict.ts';
import { readLabel } from '../core/label/read-label.ts';
import type { Family } from '../core/model/family.ts';
import type { LabelReport } from '../core/report/reports.ts';

/** What a label says, by the families at hand. */
export function readPanelLabel(text: string, families: readonly Family[]): LabelReport {
  const label = readLabel(text, families);
  const findings = checkLabel(label, families);
  return { command: 'label', verdict: verdictOf(findings), findings, label };
}
