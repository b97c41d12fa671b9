import type { Fit, LabelReading, PackageReading, Parts } from '../model/panel-identity.ts';
import { upperForComparing } from '../text/label-text.ts';
import { compareFit } from './compare-fit.ts';
import { partOf } from './read-with-grammar.ts';

/**
 * Packages by family and by the parts that must agree, so that many labels are looked up without comparing each pair.
 */
export interface PackageIndex {
  readonly packages: readonly PackageReading[];
  /** Family name → the sets of parts that its packages compare → the parts' values → packages. */
  readonly byFamily: ReadonlyMap<string, readonly AgreeGroup[]>;
}

interface AgreeGroup {
  readonly agree: readonly string[];
  readonly byValues: Map<string, PackageReading[]>;
}

export interface NearMiss {
  readonly package: PackageReading;
  readonly fit: Fit;
}

/** Indexes packages that exactly one family reads; the others can be nobody's answer. */
export function indexPackages(packages: readonly PackageReading[]): PackageIndex {
  const byFamily = new Map<string, AgreeGroup[]>();
  for (const one of packages) {
    const [reading, ...others] = one.readings;
    if (reading === undefined || others.length > 0) continue;
    const key = valuesKey(reading.parts, reading.agree);
    if (key === undefined) continue;
    const groups = byFamily.get(reading.family.family) ?? [];
    byFamily.set(reading.family.family, groups);
    const group = groups.find(({ agree }) => agree.join() === reading.agree.join()) ?? addGroup(groups, reading.agree);
    const same = group.byValues.get(key);
    if (same === undefined) group.byValues.set(key, [one]);
    else same.push(one);
  }
  return { packages, byFamily };
}

function addGroup(groups: AgreeGroup[], agree: readonly string[]): AgreeGroup {
  const group = { agree, byValues: new Map<string, PackageReading[]>() };
  groups.push(group);
  return group;
}

/** Undefined where a part is not stated: then nothing can be equal to it. */
function valuesKey(parts: Parts, agree: readonly string[]): string | undefined {
  const values = agree.map((part) => partOf(parts, part));
  if (values.length === 0 || values.includes(undefined)) return undefined;
  return JSON.stringify(values.map((value) => upperForComparing(value ?? '')));
}

/**
 * The packages whose every agreeing part equals the label's: just those that `compareFit` says fit. None for a label
 * that no family or several read.
 */
export function findPackages(label: LabelReading, index: PackageIndex): readonly PackageReading[] {
  const [panel, ...others] = label.readings;
  if (panel === undefined || others.length > 0) return [];
  return (index.byFamily.get(panel.family.family) ?? []).flatMap(({ agree, byValues }) => {
    return byValues.get(valuesKey(panel.parts, agree) ?? '') ?? [];
  });
}

/** The packages of the label's family that do not fit, with what differs, fewest differences first. */
export function findNearMisses(label: LabelReading, index: PackageIndex): readonly NearMiss[] {
  const [panel, ...others] = label.readings;
  if (panel === undefined || others.length > 0) return [];
  const misses = index.packages.flatMap((one) => {
    const [reading, ...more] = one.readings;
    if (reading === undefined || more.length > 0 || reading.family.family !== panel.family.family) return [];
    const fit = compareFit(panel.parts, reading.parts, reading.agree);
    return fit.answer === 'fits' ? [] : [{ package: one, fit }];
  });
  const unequal = ({ fit }: NearMiss): number => fit.parts.filter(({ relation }) => relation !== 'equal').length;
  return misses.toSorted((a, b) => unequal(a) - unequal(b));
}
