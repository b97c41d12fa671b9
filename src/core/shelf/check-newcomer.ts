import { compareBuilds } from '../build/compare-builds.ts';
import { readBuild } from '../build/read-build.ts';
import { type Finding, finding } from '../findings/finding.ts';
import { readPackageName } from '../label/read-label.ts';
import { partOf } from '../label/read-with-grammar.ts';
import type { Family } from '../model/family.ts';
import type { PackageReading } from '../model/panel-identity.ts';
import { upperForComparing } from '../text/label-text.ts';
import { packageNameProblem } from './newcomer-rules.ts';
import { alikeName, type ShelvedPackage } from './shelf-record.ts';

interface Newcomer {
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

/** A folder on the shelf whose record cannot be used. */
export interface DamagedEntry {
  readonly id: string;
  /** The other files in it. */
  readonly files: readonly string[];
  readonly problem: string;
  /** The form of the record, where a later version of the tool wrote it. */
  readonly newer: string | undefined;
}

/** What is wrong with a shelf as it is listed, before any package is read. */
export function checkListing(
  packages: readonly ShelvedPackage[],
  damaged: readonly DamagedEntry[],
): readonly Finding[] {
  const byName = new Map<string, ShelvedPackage[]>();
  for (const one of packages) {
    const key = alikeName(one.record.name);
    byName.set(key, [...(byName.get(key) ?? []), one]);
  }
  const twice = [...byName.values()].flatMap((same) => {
    const contents = [...new Set(same.map(({ record }) => record.sha256))].toSorted();
    if (contents.length < 2) return [];
    return [finding('shelf/name-twice', same[0]?.record.name ?? '', { sha256: contents })];
  });
  const broken = damaged.map(({ id, files, problem, newer }) =>
    newer === undefined
      ? finding('shelf/record-damaged', id, { problem, files })
      : finding('shelf/record-newer', id, { schema: newer }),
  );
  return [...twice, ...broken];
}
