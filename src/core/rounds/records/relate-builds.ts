import { compareBuilds } from '../../build/compare-builds.ts';
import { readBuild } from '../../build/read-build.ts';
import type { BuildOrder } from '../../model/build.ts';
import type { Family } from '../../model/family.ts';
import type { Round, RoundRoom } from '../../model/round.ts';

/** What build A is beside build B, as the family (by its short name) writes builds. */
export type RelateBuilds = (family: string | undefined, a: string, b: string) => BuildOrder;

/** Equal texts are the same build in any scheme; all else is said by the family, or `cannot-order` where it is not at hand. */
export const relateBuilds =
  (families: readonly Family[]): RelateBuilds =>
  (name, a, b) => {
    if (comparable(a) === comparable(b)) return 'same';
    const rules = families.find(({ family }) => family === name)?.build;
    if (rules === undefined) return 'cannot-order';
    const [first, second] = [readBuild(a, rules).build, readBuild(b, rules).build];
    return first === undefined || second === undefined ? 'cannot-order' : compareBuilds(first, second);
  };

const comparable = (build: string): string => build.normalize('NFKC').trim().toUpperCase();

/** The family of a room's panel, as far as the plan tells. */
export function familyOf(round: Round, room: RoundRoom): string | undefined {
  const [step] = room.steps;
  return round.loads.find(({ id, rooms }) => id === step?.load || rooms.includes(room.key))?.family;
}
