import { checkFamilies, type FamilyFile, judgeFamilyFiles } from '../core/checks/fit/check-families.ts';
import {
  checkEntries,
  checkInvisible,
  checkLabel,
  checkLabelList,
  checkPlate,
} from '../core/checks/fit/check-label.ts';
import { verdictOf } from '../core/findings/finding.ts';
import { findModelInPlate } from '../core/label/find-model-in-plate.ts';
import { readLabel } from '../core/label/read-label.ts';
import type { Family } from '../core/model/family.ts';
import type { FamilyReport, LabelListReport, LabelReport } from '../core/report/reports.ts';

/**
 * What a label says, by the families at hand. A text of several lines is a whole plate, and the model is looked for in
 * it. `again` is the same label as a second person typed it.
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
export function checkFamilyFiles(files: readonly FamilyFile[]): FamilyReport {
  const judged = judgeFamilyFiles(files);
  const findings = [...judged.findings, ...checkFamilies(judged.families)];
  return { command: 'family check', verdict: verdictOf(findings), findings, families: judged.families };
}

/**
 * What is wrong with the file of a new family of this NAME, by itself and beside the sound ones that lie where it is to
 * go.
 */
export function checkNewFamily(
  name: string,
  file: FamilyFile,
  there: readonly FamilyFile[],
): Pick<FamilyReport, 'verdict' | 'findings'> {
  const judged = judgeFamilyFiles([file]);
  // A file of the same name is never written over, so it need not be compared with itself.
  const beside = judgeFamilyFiles(there).families.filter(({ family }) => family !== name);
  const findings = [...judged.findings, ...checkFamilies([...beside, ...judged.families])];
  return { verdict: verdictOf(findings), findings };
}
