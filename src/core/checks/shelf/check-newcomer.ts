import { compareBuilds } from '../../build/compare-builds.ts';
import { readBuild } from '../../build/read-build.ts';
import { type Finding, finding } from '../../findings/finding.ts';
import { upperForComparing } from '../../label/normalise-label.ts';
import { readPackageName } from '../../label/read-package-name.ts';
import { partOf } from '../../label/read-with-grammar.ts';
import type { Family } from '../../model/family.ts';
import type { PackageReading } from '../../model/panel-identity.ts';
import { alikeName, packageNameProblem, type ShelvedPackage } from '../../shelf/shelf-record.ts';

export interface Newcomer {
  readonly name: string;
  readonly sha256: string;
}

/** What the name alone says, before the package is read. */
export function checkNewName(name: string, families: readonly Family[]): readonly Finding[] {
  const problem = packageNameProblem(name);
  if (problem !== undefined) return [finding('shelf/name-unusable', name, { problem })];
  if (families.length === 0) return [];
  const titles = readPackageName(name, families).readings.map(({ family }) => family.title);
  return titles.length === 1 ? [] : [finding('shelf/name-unread', name, { families: titles })];
}

/** The package of the same name and other content, if there is one; names are compared as FAT compares them. */
export function checkNameTaken(
  newcomer: Newcomer,
  onShelf: readonly ShelvedPackage[],
  atTheSameTime: boolean,
): readonly Finding[] {
  const { name, sha256 } = newcomer;
  const other = onShelf.find(({ record }) => alikeName(record.name) === alikeName(name) && record.sha256 !== sha256);
  if (other === undefined) return [];
  const { record } = other;
  return [finding('shelf/name-taken', name, { sha256, other: record.sha256, addedAt: record.addedAt, atTheSameTime })];
}

/** A package that is already there: under its own name, or under another. */
export function checkSameContent(name: string, { record }: ShelvedPackage): Finding {
  const { addedAt } = record;
  if (alikeName(record.name) === alikeName(name)) return finding('shelf/already-there', record.name, { addedAt });
  return finding('shelf/same-content-other-name', name, { other: record.name, addedAt });
}

/** Another package that claims to be the same build for the same panels. */
export function checkSameBuild(
  newcomer: Newcomer,
  onShelf: readonly ShelvedPackage[],
  families: readonly Family[],
): readonly Finding[] {
  const own = single(readPackageName(newcomer.name, families));
  if (own === undefined) return [];
  return onShelf.flatMap(({ record }) => {
    if (record.sha256 === newcomer.sha256 || alikeName(record.name) === alikeName(newcomer.name)) return [];
    const other = single(readPackageName(record.name, families));
    if (other === undefined || !sameTarget(own, other)) return [];
    const facts = { other: record.name, build: own.build ?? 'unstated' };
    return [finding('shelf/same-build-other-content', newcomer.name, facts)];
  });
}

type Reading = PackageReading['readings'][number];

const single = ({ readings: [first, ...others] }: PackageReading): Reading | undefined =>
  others.length === 0 ? first : undefined;

function sameTarget(a: Reading, b: Reading): boolean {
  if (a.family.family !== b.family.family || a.agree.join() !== b.agree.join()) return false;
  const value = ({ parts }: Reading, part: string): string => upperForComparing(partOf(parts, part) ?? '');
  if (!a.agree.every((part) => value(a, part) === value(b, part))) return false;
  const [one, other] = [a, b].map(({ build, family }) => readBuild(build ?? '', family.build).build);
  return one !== undefined && other !== undefined && compareBuilds(one, other) === 'same';
}
