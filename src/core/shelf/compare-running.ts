import { compareBuilds } from '../build/compare-builds.ts';
import { findUpdatePath } from '../build/find-update-path.ts';
import { readBuild } from '../build/read-build.ts';
import { checkBuilds } from '../checks/fit/check-builds.ts';
import { type Finding, finding } from '../findings/finding.ts';
import type { BuildOrder } from '../model/build.ts';
import type { PackageReading, Parts } from '../model/panel-identity.ts';

export interface RunningComparison {
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
