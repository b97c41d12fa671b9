import { foldLookAlikes } from './look-alikes.ts';
import { normaliseLabel, upperForComparing } from './normalise-label.ts';

export interface EntryComparison {
  readonly answer: 'agree' | 'misread' | 'differ';
  readonly first: string;
  readonly second: string;
  /** The first character in which they differ, from 0; undefined where they agree. */
  readonly at: number | undefined;
}

/** Compares a label as two people entered it; `misread` where only look-alikes differ, which is no agreement. */
export function compareEntries(firstEntry: string, secondEntry: string): EntryComparison {
  const first = normaliseLabel(firstEntry);
  const second = normaliseLabel(secondEntry);
  const a = [...upperForComparing(first)];
  const b = [...upperForComparing(second)];
  const length = Math.max(a.length, b.length);
  const at = Array.from({ length }, (_, index) => index).find((index) => a[index] !== b[index]);
  if (at === undefined) return { answer: 'agree', first, second, at };
  const alike = foldLookAlikes(first) === foldLookAlikes(second);
  return { answer: alike ? 'misread' : 'differ', first, second, at };
}
