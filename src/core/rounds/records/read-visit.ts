import type { RoundRoom } from '../../model/round.ts';
import type { Visit } from '../../model/round-record.ts';
import type { RelateBuilds } from './relate-builds.ts';

/**
 * What a visit came to. `step`: a build on the way was reached, not yet the target. `unclear`: somebody says it is done, but
 * the build was not read, or is neither the target nor a step.
 */
export type VisitResult = 'done' | 'step' | 'failed' | 'skipped' | 'unclear';

export interface VisitReading {
  readonly visit: Visit;
  readonly result: VisitResult;
  /** Number of the room's step that was reached, from 0. */
  readonly step: number | undefined;
  readonly because: 'said' | 'build' | 'unchanged' | 'not-read' | 'unexpected';
}

/** What the build that a person read makes of a visit: the build decides, not the word "done". */
export function readVisit(
  visit: Visit,
  room: RoundRoom,
  family: string | undefined,
  relate: RelateBuilds,
): VisitReading {
  const answer = (result: VisitResult, because: VisitReading['because'], step?: number): VisitReading => ({
    visit,
    result,
    step,
    because,
  });
  if (visit.outcome !== 'done') return answer(visit.outcome, 'said');
  const build = visit.buildAfter;
  if (build === null) return answer('unclear', 'not-read');
  const isSame = (other: string | null): boolean => other !== null && relate(family, build, other) === 'same';
  const last = room.steps.length - 1;
  if (isSame(goalOf(room))) return answer('done', 'build', last >= 0 ? last : undefined);
  const step = room.steps.findIndex((one) => isSame(one.build));
  if (step !== -1) return answer('step', 'build', step);
  if (isSame(visit.buildBefore) || isSame(room.running)) return answer('failed', 'unchanged');
  return answer('unclear', 'unexpected');
}

/** The build at which nothing is left to do. */
export const goalOf = (room: RoundRoom): string | null =>
  room.target ?? (room.state === 'up-to-date' ? room.running : null);
