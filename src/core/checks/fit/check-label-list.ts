import type { Finding } from '../../findings/finding.ts';
import { readLabel } from '../../label/read-label.ts';
import { splitLabels } from '../../label/split-labels.ts';
import type { Family } from '../../model/family.ts';
import type { LabelReading } from '../../model/panel-identity.ts';
import { checkLabel } from './check-label.ts';

export interface ListedLabel {
  /** Line of the list, from 1. */
  readonly line: number;
  readonly reading: LabelReading;
  readonly findings: readonly Finding[];
}

/** Reads a list of labels, one a line, each with what is to be said about it. */
export function checkLabelList(text: string, families: readonly Family[]): readonly ListedLabel[] {
  return splitLabels(text).map(({ line, text: label }) => {
    const reading = readLabel(label, families);
    return { line, reading, findings: checkLabel(reading, families) };
  });
}
