import { compareBuilds } from '../../build/compare-builds.ts';
import { readBuild } from '../../build/read-build.ts';
import type { BuildOrder } from '../../model/build.ts';
import type { Family } from '../../model/family.ts';
import type { Round, RoundRoom } from '../../model/round.ts';
import type { RoundRecord, Visit } from '../../model/round-record.ts';

export const isVisit = (record: RoundRecord): record is Visit => record.kind === 'visit' || record.kind === 'looked';

/** Somebody looked whether the panel has updated itself. */
export const isOverTheAir = ({ kind }: Pick<Visit, 'kind'>): boolean => kind === 'looked';

/**
 * What a visit came to. `step`: a build on the way was reached, not yet the target. `unclear`: somebody says it is
 * done, but the build was not read, or is neither the target nor a step. `not-yet`: it has not updated itself.
 */
type VisitResult = 'done' | 'step' | 'failed' | 'skipped' | 'unclear' | 'not-yet';

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
  const isUnchanged = isSame(visit.buildBefore) || isSame(room.running);
  if (isOverTheAir(visit)) {
    // Nobody chose which build comes over the air: a newer one than was expected will do, and any where none was.
    const isNewer = (other: string | null): boolean => other !== null && relate(family, build, other) === 'newer';
    if (isUnchanged) return answer('not-yet', 'unchanged');
    if (isNewer(room.target ?? room.running)) return answer('done', 'build');
    return isNewer(room.running) ? answer('not-yet', 'build') : answer('unclear', 'unexpected');
  }
  if (isUnchanged) return answer('failed', 'unchanged');
  return answer('unclear', 'unexpected');
}

/** The build at which nothing is left to do. */
const goalOf = (room: RoundRoom): string | null => room.target ?? (room.state === 'up-to-date' ? room.running : null);

/** What a record says, without its room and its writer. */
export function recordInWords(record: RoundRecord): string {
  switch (record.kind) {
    case 'prepared':
      return `stick ${record.stick ?? 'without a code'} prepared with load ${record.load}`;
    case 'visit':
    case 'looked':
      return visitInWords(record);
    case 'approval':
      return `wipe approved by ${record.by}`;
    case 'returned':
      return `stick ${record.stick} came back ${record.state}${record.cleared ? ' and was cleared' : ''}`;
    case 'withdrawn':
      return `line ${record.withdraws} withdrawn: ${record.because}`;
  }
}

function visitInWords({ outcome, buildAfter, text, stick, wiped }: Visit): string {
  const brought = stick === null ? '' : `, stick ${stick}`;
  const lost = wiped ? ', wiped' : '';
  const said = text === null ? '' : `: "${text}"`;
  if (outcome === 'done') return `done, shows ${buildAfter ?? 'a build that was not read'}${brought}${lost}${said}`;
  if (outcome === 'not-yet') return `not updated yet${buildAfter === null ? '' : `, shows ${buildAfter}`}${said}`;
  return `${outcome}${said}${brought}${lost}`;
}

/** One reading, as one of two that disagree. */
export function saidInWords({ visit, result, because }: VisitReading): string {
  if (result === 'not-yet') return 'it has not updated itself yet';
  if (because === 'unchanged') return `it still shows ${visit.buildAfter}`;
  if (visit.outcome === 'done') return visit.buildAfter === null ? 'done' : `it shows ${visit.buildAfter}`;
  return visit.text === null ? result : `${result} ("${visit.text}")`;
}

/** What build A is beside build B, as the family (by its short name) writes builds. */
export type RelateBuilds = (family: string | undefined, a: string, b: string) => BuildOrder;

/**
 * Equal texts are the same build in any scheme; all else is said by the family, or `cannot-order` where it is not at
 * hand.
 */
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
  if (room.way !== undefined) return room.way.family ?? undefined;
  const [step] = room.steps;
  return round.loads.find(({ id, rooms }) => id === step?.load || rooms.includes(room.key))?.family;
}
