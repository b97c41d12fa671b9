import { checkFamilies } from '../core/checks/fit/check-families.ts';
import {
  checkEntries,
  checkInvisible,
  checkLabel,
  checkLabelList,
  checkPlate,
} from '../core/checks/fit/check-label.ts';
import { type Finding, verdictOf } from '../core/findings/finding.ts';
import { findModelInPlate } from '../core/label/find-model-in-plate.ts';
import { readLabel } from '../core/label/read-label.ts';
import type { Family } from '../core/model/family.ts';
import type { FamilyReport, LabelListReport, LabelReport } from '../core/report/reports.ts';

/**
 * What a label says, by the families at hand. A text of several lines is a whole plate, and the model is looked for in it.
 * `again` is the same label as a second person typed it.
 */
export function readPanelLabel(text: string, again: string | undefined, families: readonly Family[]): LabelReport {
  const isPlate = /\r|\n/.test(text.trim());
  const plate = isPlate ? findModelInPlate(text, families) : undefined;
  const label = plate?.candidates[0]?.reading ?? readLabel(text, families);
  const known = plate === undefined || plate.answer === 'found' || plate.answer === 'confirm';
  const findings = [
    // Of a plate only the lines that are read are known further on.
    ...(plate === undefined ? [] : [...checkInvisible(text), ...checkPlate(plate)]),
    ...(known ? checkLabel(label, families) : []),
    ...(again === undefined ? [] : [...checkInvisible(again), ...checkEntries(label.normalised, again)]),
  ];
  return { command: 'label', verdict: verdictOf(findings), findings, label };
}

/** A list of labels, one a line; each is judged for itself, and the worst counts. */
export function readLabelList(text: string, families: readonly Family[]): LabelListReport {
  const labels = checkLabelList(text, families);
  return { command: 'label', verdict: verdictOf(labels.flatMap(({ findings }) => findings)), labels };
}

/** What is wrong with family files, each by itself and all together. */
export function checkFamilyFiles(read: {
  readonly families: readonly Family[];
  readonly findings: readonly Finding[];
}): FamilyReport {
  const findings = [...read.findings, ...checkFamilies(read.families)];
  return { command: 'family check', verdict: verdictOf(findings), findings, families: read.families };
}
