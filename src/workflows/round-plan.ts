import { verdictOf, worstOf } from '../core/findings/finding.ts';
import type { Family } from '../core/model/family.ts';
import type { Mode } from '../core/model/mode.ts';
import type { RoomList } from '../core/model/room.ts';
import type { RoomState } from '../core/model/round.ts';
import type { RoundRecord } from '../core/model/round-record.ts';
import type { RoundPlanReport } from '../core/report/round-reports.ts';
import { makeRound, type RoundWishes } from '../core/rounds/plan/make-round.ts';
import { type PlannedRoom, planRooms, verdictOfRoom } from '../core/rounds/plan/plan-rooms.ts';
import { approvalsBy } from '../core/rounds/prepare/check-approvals.ts';
import type { RoundFolder } from '../io/rounds/rounds.ts';
import type { Shelf } from '../io/shelf/shelf.ts';
import type { RoomListReading } from './read-room-list.ts';

export interface RoundPlanRequest extends RoundWishes {
  readonly mode: Mode;
  readonly families: readonly Family[];
  /** As the person named them. */
  readonly familyPaths: readonly string[];
  readonly dryRun: boolean;
}

export interface RoundPlanPorts {
  readonly readList: () => Promise<RoomListReading>;
  /** The list's bytes, and the name of their copy in the folder of the round. Throws `file/changed-while-read`. */
  readonly listCopy: (list: RoomList) => Promise<{ readonly bytes: Uint8Array; readonly name: string }>;
  readonly shelf: Shelf;
  readonly round: RoundFolder;
  readonly now: () => string;
  readonly toolVersion: string;
}

/**
 * Reads list, shelf and approvals, plans every room, makes loads and schedule of it, and keeps the plan unless it is a
 * dry run.
 */
export async function planRound(request: RoundPlanRequest, ports: RoundPlanPorts): Promise<RoundPlanReport> {
  const { list, findings: aboutList } = await ports.readList();
  const nothing = {
    round: undefined,
    counts: countStates([]),
    minutesFrom: new Map(),
    firstComeMinutes: undefined,
    kept: false,
  };
  const place = ports.round.place;
  if (list === undefined || list.rooms.length === 0) {
    return {
      command: 'round plan',
      verdict: 'not-ready',
      findings: aboutList, // which says why there is no room in it
      place,
      ...nothing,
    };
  }
  const copy = await ports.listCopy(list);
  const answer = await askShelf(list, request, ports);
  const frame = {
    plannedAt: ports.now(),
    toolVersion: ports.toolVersion,
    list: {
      path: list.source,
      copy: copy.name,
      sha256: list.sha256,
      ...(list.form.kind === 'xlsx' && list.form.isChosen ? { sheet: list.form.sheet } : {}),
      columns: { ...list.columns },
      unused: list.unused.map((row) => ({ ...row })),
    },
    mode: request.mode,
    shelf: ports.shelf.place,
    families: [...request.familyPaths],
  };
  const made = makeRound(answer.rooms, frame, request);
  if (!request.dryRun) await ports.round.savePlan(made.round, copy.bytes);
  const findings = [...aboutList, ...answer.aboutPackages];
  return {
    command: 'round plan',
    verdict: worstOf([verdictOf(findings), ...answer.rooms.map(verdictOfRoom)]),
    findings,
    round: made.round,
    counts: countStates(answer.rooms),
    minutesFrom: made.minutesFrom,
    firstComeMinutes: made.firstComeMinutes,
    place,
    kept: !request.dryRun,
  };
}

async function askShelf(list: RoomList, { mode, families }: RoundPlanRequest, { shelf, round }: RoundPlanPorts) {
  const [{ packages, damaged }, approvals] = await Promise.all([shelf.list(), recordedApprovals(round)]);
  return planRooms({ rooms: list.rooms, mode, families, packages, damaged, approvals });
}

/** Approvals that were noted with `round record`; none where the round is new. */
async function recordedApprovals(round: RoundFolder): Promise<ReadonlyMap<string, string>> {
  const records: readonly RoundRecord[] = (await round.records()).records;
  return approvalsBy(records);
}

function countStates(rooms: readonly Pick<PlannedRoom, 'state'>[]): RoundPlanReport['counts'] {
  const count = (state: RoomState): number => rooms.filter((room) => room.state === state).length;
  return {
    'up-to-date': count('up-to-date'),
    update: count('update'),
    stopped: count('stopped'),
    'cannot-tell': count('cannot-tell'),
    'over-the-air': count('over-the-air'),
  };
}
