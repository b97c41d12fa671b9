import { type Finding, finding } from '../../findings/finding.ts';
import { compareFit } from '../../label/compare-fit.ts';
import { readLabel, readPackageName } from '../../label/read-label.ts';
import { partOf } from '../../label/read-with-grammar.ts';
import type { Family } from '../../model/family.ts';
import { upperForComparing } from '../../text/label-text.ts';

interface Pair {
  readonly label: string;
  readonly package: string;
}

/**
 * Why a label and its package confirm nothing about a family that was made at a desk; undefined where they confirm it.
 * They must fit each other by its patterns, and be another variant than those that it was made from.
 */
export function whyNotConfirming(pair: Pair, family: Family): string | undefined {
  const [panel] = readLabel(pair.label, [family]).readings;
  if (panel === undefined) return `${family.title} do not read the label "${pair.label}".`;
  const [made] = readPackageName(pair.package, [family]).readings;
  if (made === undefined) return `${family.title} have no package called ${pair.package}.`;
  if (made.agree.length === 0) return `The name ${pair.package} says nothing of the panel, so it can confirm nothing.`;
  const { answer, parts } = compareFit(panel.parts, made.parts, made.agree);
  if (answer !== 'fits') {
    const open = parts.filter(({ relation }) => relation !== 'equal').map(({ part }) => part);
    return `They do not fit each other by the family file: ${open.join(', ')}.`;
  }
  const valuesOf = (parts: Readonly<Record<string, string>>): string =>
    JSON.stringify(made.agree.map((part) => upperForComparing(partOf(parts, part) ?? '')));
  const own = (family['made-from']?.labels ?? []).flatMap((text) => readLabel(text, [family]).readings);
  return own.some(({ parts: known }) => valuesOf(known) === valuesOf(panel.parts))
    ? `It is the variant that the family was made from (${made.agree.map((part) => partOf(panel.parts, part)).join(', ')}); only another one confirms it.`
    : undefined;
}

/** Whether a family was made from what lay on a table, and nothing from elsewhere has confirmed it since. */
export const isUnconfirmed = (family: Family): boolean =>
  family['made-from'] !== undefined &&
  !family['made-from'].confirmed.some((pair) => whyNotConfirming(pair, family) === undefined);

/** What must be said wherever such a family says that a package is made for a label. */
export function checkOrigin(fileName: string, family: Family): readonly Finding[] {
  const made = family['made-from'];
  if (made === undefined || !isUnconfirmed(family)) return [];
  const { by, labels, packages, 'where-read': whereRead } = made;
  const parts = Object.entries(whereRead).map(([part, where]) => ({ part, where }));
  // The manifest keeps the subject alone: whoever verifies the stick must read there on whose word it rests.
  const subject = `${fileName}, on the word of ${by}${parts.map(({ part, where }) => `; ${part}: ${where}`).join('')}`;
  return [
    finding('fit/family-unconfirmed', subject, {
      family: family.title,
      name: family.family,
      by,
      parts,
      labels,
      packages,
    }),
  ];
}
