import type { FamilyFile } from '../model/family.ts';
import type { FamilyProblem } from '../model/family-problem.ts';
import { compareBuilds } from './compare-builds.ts';
import { readBuild } from './read-build.ts';

/** What the family says of builds and cannot mean: examples and bridges outside its scheme, bridges that lead nowhere. */
export function findBuildProblems(family: FamilyFile): readonly FamilyProblem[] {
  return [...buildProblems(family), ...bridgeProblems(family)];
}

/** Examples state builds in their family's scheme. */
function buildProblems(family: FamilyFile): readonly FamilyProblem[] {
  return family.packages.flatMap(({ examples }, index) =>
    examples.flatMap(({ build }, at) =>
      build === undefined ? [] : unreadBuild(build, family, ['packages', index, 'examples', at, 'build']),
    ),
  );
}

function unreadBuild(text: string, family: FamilyFile, path: readonly (string | number)[]): readonly FamilyProblem[] {
  const reading = readBuild(text, family.build);
  if (reading.build !== undefined) return [];
  const what = `the build "${text}" does not read as ${family.build.scheme}: ${reading.because}`;
  return [{ path, kind: 'build', what, todo: 'Correct it, or the scheme under build.' }];
}

/** A bridge leads upwards: whoever must take it runs something older than what it brings. */
function bridgeProblems(family: FamilyFile): readonly FamilyProblem[] {
  return (family.bridges ?? []).flatMap((bridge, index) => {
    const path = ['bridges', index];
    const unread = (['running-before', 'first'] as const).flatMap((key) =>
      unreadBuild(bridge[key], family, [...path, key]),
    );
    const before = readBuild(bridge['running-before'], family.build).build;
    const first = readBuild(bridge.first, family.build).build;
    if (before === undefined || first === undefined) return unread;
    const order = compareBuilds(first, before);
    if (order === 'newer' || order === 'same') return [];
    const what = `the bridge ${bridge.first} is not clearly newer than ${bridge['running-before']} or equal to it`;
    const todo = 'first is the build to take; running-before is where it stops being needed.';
    return [{ path: [...path, 'first'], kind: 'build', what, todo }];
  });
}
