import { compareBuilds } from '../build/compare-builds.ts';
import { readBuild } from '../build/read-build.ts';
import { checkBuilds } from '../checks/fit/check-builds.ts';
import { bridgesFor, findUpdatePath, type PathStep } from '../checks/fit/find-update-path.ts';
import { type Finding, finding } from '../findings/finding.ts';
import { readLabel, readPackageName } from '../label/read-label.ts';
import type { Build, BuildOrder } from '../model/build.ts';
import type { Family } from '../model/family.ts';
import type { PackageReading, Parts } from '../model/panel-identity.ts';
import type { ShelvedPackage } from './shelf-record.ts';

/** One stick of the way. */
export interface ShelfStep {
  readonly build: string;
  /** The maker's reason for a bridge; undefined for the target. */
  readonly because: string | undefined;
  /** Undefined where the shelf has no such package. */
  readonly shelved: ShelvedPackage | undefined;
}

interface Candidate {
  readonly shelved: ShelvedPackage;
  readonly build: Build | undefined;
}

/** From what runs on a panel over the family's bridges (`path`) to a package. */
interface WayUp {
  readonly running: string;
  readonly path: readonly PathStep[];
  readonly target: Candidate;
  readonly fitting: readonly Candidate[];
  readonly family: Family;
}

/** The sticks of a way over bridges, each with its package on the shelf: of each build one, and only one. */
export function findSteps({ running, path, target, fitting, family }: WayUp): {
  readonly steps: readonly ShelfStep[];
  readonly findings: readonly Finding[];
} {
  const { name } = target.shelved.record;
  const found = path.map(({ build, because }) => ({
    step: { build, because },
    packages: packagesOf(build, family, fitting),
  }));
  const steps = found.map(({ step, packages: [first, ...others] }) => ({
    ...step,
    shelved: others.length === 0 ? first : undefined,
  }));
  const missing = found
    .filter(({ packages }) => packages.length !== 1)
    .map(({ step: { build }, packages }) => {
      const names = packages.map(({ record }) => record.name);
      return finding('shelf/bridge-not-there', name, { build, steps: path, running, names });
    });
  const first = steps[0]?.shelved?.record.name ?? name;
  const told = finding('shelf/bridge-first', first, { steps: path, running, target: path.at(-1)?.build ?? '' });
  return { steps, findings: missing.length > 0 ? missing : [told] };
}

function packagesOf(text: string, family: Family, fitting: readonly Candidate[]): readonly ShelvedPackage[] {
  const wanted = readBuild(text, family.build).build;
  return fitting
    .filter(({ build }) => build !== undefined && wanted !== undefined && compareBuilds(build, wanted) === 'same')
    .map(({ shelved }) => shelved);
}

/**
 * Where nobody said what runs on the panel, it stays open whether a package is newer than that, and whether a bridge
 * build is due. `parts` are the panel's, where its label is known.
 */
export function checkRunningSaid({ fileName, readings }: PackageReading, parts: Parts | undefined): readonly Finding[] {
  const [reading, ...others] = readings;
  if (reading?.build === undefined || others.length > 0) return [];
  const { family } = reading;
  const bridges = bridgesFor(family, parts ?? reading.parts, readBuild(reading.build, family.build).build);
  return bridges.length === 0
    ? [finding('shelf/running-not-said', fileName)]
    : [finding('shelf/running-unknown', fileName, { bridges })];
}

interface RunningComparison {
  readonly findings: readonly Finding[];
  readonly packaged: string | undefined;
  /** What the package is beside the running build; undefined where one of the two could not be read. */
  readonly order: BuildOrder | undefined;
  readonly steps: readonly PathStep[];
}

const nothing = { packaged: undefined, order: undefined, steps: [] } as const;

/**
 * A running build beside the one that a package's name states. `parts` are the panel's, where its label is known; else
 * those of the package decide which bridges are due.
 */
export function compareRunning(running: string, named: PackageReading, parts: Parts | undefined): RunningComparison {
  const [reading, ...others] = named.readings;
  if (reading === undefined || others.length > 0) {
    const families = named.readings.map(({ family }) => family.title);
    return { ...nothing, findings: [finding('compare/no-family', named.fileName, { families })] };
  }
  const { family, build: packaged } = reading;
  if (packaged === undefined) return { ...nothing, findings: [finding('shelf/build-unstated', named.fileName)] };
  const panel = parts ?? reading.parts;
  const findings = checkBuilds({ running, packaged, family, parts: panel });
  const from = readBuild(running, family.build).build;
  const to = readBuild(packaged, family.build).build;
  if (from === undefined || to === undefined) return { ...nothing, packaged, findings };
  const order = compareBuilds(to, from);
  const steps = order === 'newer' ? (findUpdatePath(from, to, family, panel).steps ?? []) : [];
  return { packaged, findings, order, steps };
}

/** A package by its name beside what the panel runs, or that nobody said what it runs. */
export function checkRunning(
  fileName: string,
  { label, running }: { readonly label: string; readonly running: string | undefined },
  families: readonly Family[],
): readonly Finding[] {
  const parts = readLabel(label, families).readings[0]?.parts;
  const named = readPackageName(fileName, families);
  return running === undefined ? checkRunningSaid(named, parts) : compareRunning(running, named, parts).findings;
}
