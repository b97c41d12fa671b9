import type { Fit, PartComparison, Parts } from '../model/panel-identity.ts';
import { foldLookAlikes } from './look-alikes.ts';
import { upperForComparing } from './normalise-label.ts';
import { partOf } from './read-with-grammar.ts';

/**
 * Compares the parts that must agree, each as a whole and without regard to case. It fits only where all are equal as
 * written; a part that is equal only after folding look-alikes, or that one side does not have, leaves it open; a part
 * that differs settles it.
 */
export function compareFit(label: Parts, other: Parts, agree: readonly string[]): Fit {
  const parts = agree.map((part) => comparePart(part, partOf(label, part), partOf(other, part)));
  if (parts.some(({ relation }) => relation === 'differs')) return { answer: 'differs', parts };
  const fits = parts.length > 0 && parts.every(({ relation }) => relation === 'equal');
  return { answer: fits ? 'fits' : 'cannot-tell', parts };
}

function comparePart(part: string, label: string | undefined, other: string | undefined): PartComparison {
  if (label === undefined || other === undefined) return { part, label, other, relation: 'missing' };
  if (upperForComparing(label) === upperForComparing(other)) return { part, label, other, relation: 'equal' };
  const alike = foldLookAlikes(label) === foldLookAlikes(other);
  return { part, label, other, relation: alike ? 'misread' : 'differs' };
}
