import { type Finding, finding } from '../../findings/finding.ts';
import { compareEntries } from '../../label/compare-entries.ts';

/** Two people read the same plate: any difference stops. */
export function checkEntries(firstEntry: string, secondEntry: string): readonly Finding[] {
  const { answer, first, second, at } = compareEntries(firstEntry, secondEntry);
  if (at === undefined) return [];
  return [finding('label/entries-differ', first, { first, second, at, lookAlike: answer === 'misread' })];
}
