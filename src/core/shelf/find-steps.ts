import { compareBuilds } from '../build/compare-builds.ts';
import { readBuild } from '../build/read-build.ts';
import { checkBuilds } from '../checks/fit/check-builds.ts';
import { bridgesFor, findUpdatePath } from '../checks/fit/find-update-path.ts';
import { type Finding, finding } from '../findings/finding.ts';
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

/** The sticks from a running build to a newer package over the family's bridges, each with its package on the shelf. */
export function findSteps(
  running: Build | undefined,
  target: Candidate,
  fitting: readonly Candidate[],
  { family, parts }: { readonly family: Family; readonly parts: Parts },
): { readonly steps: readonly ShelfStep[]; readonly findings: readonly Finding[] } {
  const to = target.build;
  if (running === undefined || to === undefined) return { steps: [], findings: [] };
  const path = findUpdatePath(running, to, family, parts).steps ?? [];
  const steps = path.map(({ build, because }) => ({
    build,
    because,
    shelved: because === undefined ? target.shelved : packageOf(build, family, fitting),
  }));
  const shown = steps.map(({ build, because }) => ({ build, because }));
  const { name } = target.shelved.record;
  const first = steps[0]?.shelved?.record.name ?? name;
  const missing = steps
    .filter(({ shelved }) => shelved === undefined)
    .map(({ build }) => finding('shelf/bridge-not-there', name, { build, steps: shown, running: running.text }));
  const told = finding('shelf/bridge-first', first, { steps: shown, running: running.text, target: to.text });
  return { steps, findings: missing.length > 0 ? missing : [told] };
}

function packageOf(text: string, family: Family, fitting: readonly Candidate[]): ShelvedPackage | undefined {
  const wanted = readBuild(text, family.build).build;
  const same = fitting.filter(
    ({ build }) => wanted !== undefined && build !== undefined && compareBuilds(build, wanted) === 'same',
  );
  return same.length === 1 ? same[0]?.shelved : undefined;
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
  readonly steps: readonly { readonly build: string; readonly because: string | undefined }[];
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
