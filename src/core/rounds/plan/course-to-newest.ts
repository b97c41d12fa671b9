import { olderIn } from '../../checks/fit/check-builds.ts';
import { bridgesFor, type PathStep } from '../../checks/fit/find-update-path.ts';
import { type Finding, finding } from '../../findings/finding.ts';
import type { LabelReading } from '../../model/panel-identity.ts';
import { compareRunning, findSteps } from '../../shelf/find-steps.ts';
import type { ReadPackage } from '../../shelf/index-shelf.ts';

/** One stick that a room needs. */
export interface PlannedStep {
  readonly package: ReadPackage;
  readonly build: string;
  /** The maker's reason for a bridge; undefined for the target. */
  readonly because: string | undefined;
}

interface CourseQuestion {
  readonly roomKey: string;
  readonly running: string | undefined;
  readonly panel: LabelReading['readings'][number];
  readonly newest: ReadPackage;
  readonly fitting: readonly ReadPackage[];
}

/** From what runs on a panel to the newest package for it. */
export interface Course {
  /** The panel runs the newest build. */
  readonly isThere: boolean;
  /** Empty where there is none, or none that can be told. */
  readonly steps: readonly PlannedStep[];
  readonly findings: readonly Finding[];
}

/**
 * From what runs on a panel to the newest package for it: nothing to do, one stick, several, or no way that can be
 * told.
 */
export function findCourse({ roomKey, running, panel, newest, fitting }: CourseQuestion): Course {
  const { family, parts } = panel;
  const packaged = newest.package.readings[0]?.build;
  const { name } = newest.shelved.record;
  if (packaged === undefined) return noWay(finding('shelf/build-unstated', name));
  const direct: readonly PlannedStep[] = [{ package: newest, build: packaged, because: undefined }];
  if (running === undefined) {
    const bridges = bridgesFor(family, parts, newest.build);
    if (bridges.length > 0) return noWay(finding('round/running-unknown', roomKey, { target: packaged, bridges }));
    const said = finding('round/running-not-said', roomKey, { target: packaged });
    return { isThere: false, steps: direct, findings: [said] };
  }
  const { findings: builds, steps: path } = compareRunning(running, newest.package, parts);
  if (builds.some(({ code }) => code === 'build/same')) return { isThere: true, steps: [], findings: builds };
  if (builds.some(({ code }) => code === 'build/older')) {
    return noWay(finding('round/runs-newer', roomKey, { running, newest: packaged, older: olderIn(family) }));
  }
  if (path.length < 2) return { isThere: false, steps: direct, findings: builds };
  return overBridges(builds, path, { running, panel, newest, fitting });
}

const noWay = (found: Finding): Course => ({ isThere: false, steps: [], findings: [found] });

function overBridges(
  builds: readonly Finding[],
  path: readonly PathStep[],
  { running, panel, newest, fitting }: Pick<CourseQuestion, 'panel' | 'newest' | 'fitting'> & { running: string },
): Course {
  const others = builds.filter(({ code }) => code !== 'build/bridge-needed');
  const way = findSteps({ running, path, target: newest, fitting, family: panel.family });
  const steps = way.steps.flatMap(({ build, because, shelved }) => {
    const one = fitting.find((fits) => fits.shelved === shelved);
    return one === undefined ? [] : [{ package: one, build, because }];
  });
  return { isThere: false, steps, findings: [...others, ...way.findings] };
}
