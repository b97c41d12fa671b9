import { compareText } from '../build/numeral.ts';
import type { ShelvedPackage } from './shelf-record.ts';

/** The order in which they were added; of the same moment, by content, so that every desk sees the same order. */
export const byTimeAdded = (a: ShelvedPackage, b: ShelvedPackage): number =>
  compareMoments(a.record.addedAt, b.record.addedAt) || compareText(a.id, b.id);

/** Moments as this tool writes them stand in the order of their texts; a shelf of many packages is compared often. */
const compareMoments = (a: string, b: string): number =>
  ownForm.test(a) && ownForm.test(b) ? compareText(a, b) : Date.parse(a) - Date.parse(b);

const ownForm = /^\d{4}-\d\d-\d\dT\d\d:\d\d:\d\d\.\d{3}Z$/;

/** By family, then by name, then by content; packages without a family come last. */
export const byFamilyAndName = (a: ShelvedPackage, b: ShelvedPackage): number =>
  Number(a.record.family === null) - Number(b.record.family === null) ||
  compareText(a.record.family ?? '', b.record.family ?? '') ||
  compareText(a.record.name, b.record.name) ||
  compareText(a.record.sha256, b.record.sha256);

/**
 * One package for each content: two desks that add the same file at the same moment both put it there. The one that was
 * added first stands for all.
 */
export function withoutDoubles(packages: readonly ShelvedPackage[]): readonly ShelvedPackage[] {
  const first = new Map<string, ShelvedPackage>();
  for (const one of packages.toSorted(byTimeAdded)) {
    const key = JSON.stringify([one.record.sha256, one.record.name]);
    if (!first.has(key)) first.set(key, one);
  }
  return [...first.values()].toSorted(byFamilyAndName);
}
