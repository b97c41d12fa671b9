import { type Finding, finding } from '../../findings/finding.ts';
import type { Load, Round, RoundRoom } from '../../model/round.ts';
import type { RoundRecord } from '../../model/round-record.ts';
import { groupBy } from '../../text/words.ts';
import { sticksOf, withoutWithdrawn } from '../plan/stick-codes.ts';
import { leastMinutes } from '../plan/usual-practice.ts';
import { findRepeats } from './find-repeats.ts';
import { compareRecords, foldSticks, roomFinder } from './order-records.ts';
import {
  familyOf,
  isOverTheAir,
  isVisit,
  type RelateBuilds,
  readVisit,
  recordInWords,
  saidInWords,
  type VisitReading,
} from './read-visit.ts';
import { type RoomProgress, type RoomStatus, type RoundStatus, roomProgress } from './round-status.ts';

/** What became of a round so far: its plan, and the records of any order, each id once. */
export function foldRound(round: Round, all: readonly RoundRecord[], relate: RelateBuilds): RoundStatus {
  const records = withoutWithdrawn(all).toSorted(compareRecords);
  const roomOf = roomFinder(round);
  const isStray = (record: RoundRecord): boolean =>
    (isVisit(record) || record.kind === 'approval') && roomOf(record) === undefined;
  const located = records.filter((record) => isVisit(record) || record.kind === 'approval');
  const byRoom = groupBy(located, (record) => roomOf(record)?.key);
  const carriers = new Map(
    round.loads.map((load) => [load.id, sticksOf(load, records).flatMap(({ stick }) => stick ?? [])]),
  );
  const rooms = round.rooms.map((room) => foldRoom(room, byRoom.get(room.key) ?? [], { round, carriers, relate }));
  const counts = Object.fromEntries(
    roomProgress.map((one) => [one, rooms.filter(({ progress }) => progress === one).length]),
  ) as Record<RoomProgress, number>;
  const sticks = foldSticks(round, records, rooms);
  const status = { round, rooms, counts, sticks, repeats: findRepeats(round, rooms), records };
  const strays = records.filter(isStray);
  return { ...status, strays, findings: checkStatus({ ...status, strays }) };
}

interface Context {
  readonly round: Round;
  readonly carriers: ReadonlyMap<string, readonly string[]>;
  readonly relate: RelateBuilds;
}

function foldRoom(room: RoundRoom, records: readonly RoundRecord[], { round, carriers, relate }: Context): RoomStatus {
  const family = familyOf(round, room);
  const visits = records.filter(isVisit).map((visit) => readVisit(visit, room, family, relate));
  const last = visits.at(-1);
  const lastReached = visits.findLastIndex(({ step, result }) => step !== undefined || result === 'done');
  const next = nextStep(room, visits[lastReached], round.loads);
  const failed = visits.slice(lastReached + 1).filter(({ result }) => result === 'failed');
  const sticks = next === undefined ? [] : (carriers.get(next.load.id) ?? []);
  const approvals = records.flatMap((record) => (record.kind === 'approval' ? [record.by] : []));
  return {
    room,
    family,
    progress: progressOf(
      room,
      visits.filter((reading) => isOfWay(room, reading)),
      sticks.length > 0,
    ),
    visits,
    last,
    failures: visits.filter(({ result }) => result === 'failed').length,
    tries: failed.filter((reading) => isOfWay(room, reading)),
    airFailures: failed.filter(({ visit }) => isOverTheAir(visit)),
    wiped: visits.some(({ visit }) => visit.wiped),
    approval: approvals.at(-1) ?? room.approval,
    reached: visits[lastReached]?.visit.buildAfter ?? null,
    next,
    sticks,
    disagreement: findDisagreement(visits, next?.load ?? round.loads.find(({ rooms }) => rooms.includes(room.key))),
  };
}

function nextStep(room: RoundRoom, reached: VisitReading | undefined, loads: readonly Load[]): RoomStatus['next'] {
  const number = reached?.step === undefined ? 0 : reached.step + 1;
  const step = room.steps[number];
  const load = loads.find(({ id }) => id === step?.load);
  return step === undefined || load === undefined ? undefined : { build: step.build, load, number };
}

/** What failed on another way than the plan's of today, or did not happen there yet, is no try of this one. */
const isOfWay = ({ state }: RoundRoom, { visit, result }: VisitReading): boolean =>
  (result !== 'failed' && result !== 'not-yet') || isOverTheAir(visit) === (state === 'over-the-air');

function progressOf(room: RoundRoom, visits: readonly VisitReading[], isPrepared: boolean): RoomProgress {
  const last = visits.at(-1)?.result;
  if (last === 'step') return 'under-way';
  if (last === 'not-yet') return 'over-the-air';
  if (last !== undefined) return last;
  if (room.state === 'up-to-date') return 'up-to-date';
  if (room.state === 'over-the-air') return 'over-the-air';
  if (room.state !== 'update') return 'held';
  return isPrepared ? 'prepared' : 'open';
}

/**
 * Two people, one panel, and less time between them than its update takes: what they say differs, and no second update
 * can explain it. A later visit, when there was time for one, settles it.
 */
function findDisagreement(visits: readonly VisitReading[], load: Load | undefined): RoomStatus['disagreement'] {
  const last = visits.at(-1);
  if (last === undefined) return undefined;
  const minutes = leastMinutes(load?.panel, load?.mode ?? 'in-os');
  const before = visits.findLast(
    ({ visit, ...reading }) =>
      !isSamePerson(visit.who, last.visit.who) &&
      Date.parse(last.visit.at) - Date.parse(visit.at) < minutes * 60_000 &&
      (reading.result !== last.result || reading.step !== last.step) &&
      // A panel that updates itself may do so while nobody looks.
      reading.result !== 'not-yet',
  );
  return before === undefined ? undefined : [before, last];
}

const isSamePerson = (a: string, b: string): boolean => a.trim().toUpperCase() === b.trim().toUpperCase();

/** What a person should know of a round beside its numbers. */
function checkStatus(status: Omit<RoundStatus, 'findings'>): readonly Finding[] {
  const { rooms, sticks, repeats, strays } = status;
  const disagreements = rooms.flatMap(({ room, disagreement }) => {
    if (disagreement === undefined) return [];
    const [first, second] = disagreement.map((reading) => ({
      who: reading.visit.who,
      at: reading.visit.at,
      said: saidInWords(reading),
    }));
    return first === undefined || second === undefined
      ? []
      : [finding('record/disagreement', room.key, { first, second })];
  });
  const unclear = rooms.flatMap(({ room, progress, last }) =>
    progress === 'unclear' && last !== undefined
      ? [
          finding('record/unclear-room', room.key, {
            build: last.visit.buildAfter,
            target: room.target,
            who: last.visit.who,
          }),
        ]
      : [],
  );
  const repeated = repeats.map(({ by, name, failures, tries, rooms: where }) =>
    finding('record/fails-repeatedly', name, { by, failures, tries, rooms: where }),
  );
  const gone = strays.map((record) =>
    finding('record/room-gone', 'room' in record ? record.room : record.id, {
      who: record.who,
      at: record.at,
      what: recordInWords(record),
    }),
  );
  const waiting = new Set(rooms.flatMap(({ next }) => (next === undefined ? [] : [next.load.id])));
  const doubted = sticks.flatMap(({ code, state, load, unproven }) =>
    state === 'ready' && load !== undefined && waiting.has(load.id) && unproven.length > 0
      ? [finding('record/stick-unproven', code, { load: load.id, codes: unproven })]
      : [],
  );
  return [...doubted, ...disagreements, ...unclear, ...repeated, ...gone];
}
