import { checkOrigin } from '../../checks/fit/check-origin.ts';
import type { FindingCode } from '../../findings/catalogue.ts';
import { rootCodeOf } from '../../findings/doubts.ts';
import { type Finding, inOrder, severityOf, textsOf } from '../../findings/finding.ts';
import type { Way } from '../../guide/which-way.ts';
import { customaryRules } from '../../model/customary-rules.ts';
import type { Family } from '../../model/family.ts';
import type { Mode } from '../../model/mode.ts';
import type { Room } from '../../model/room.ts';
import type { Load, Round, RoundRoom } from '../../model/round.ts';
import { checkOpen } from '../../shelf/check-chosen.ts';
import { scheduleFirstCome, scheduleRound } from '../schedule/schedule-round.ts';
import { makeLoads, type PlannedLoad } from './make-loads.ts';
import type { PlannedRoom } from './plan-rooms.ts';
import { letterLoads } from './stick-codes.ts';
import { type MinutesFrom, panelAdvice, setUpMinutesFor, visitMinutesFor } from './usual-practice.ts';

export interface RoundFrame extends Pick<Round, 'plannedAt' | 'list' | 'shelf' | 'families'> {
  readonly toolVersion: string;
  readonly mode: Mode;
}

export interface RoundWishes {
  /** Undefined: one for each load. */
  readonly sticks: number | undefined;
  /** At a panel; undefined: as the families or the trade say. */
  readonly visitMinutes: number | undefined;
  /** A preparation; undefined: by the size of the package. */
  readonly setUpMinutes: number | undefined;
}

export interface MadeRound {
  readonly round: Round;
  /** Where the minutes at the panels are known from, for each load. */
  readonly minutesFrom: ReadonlyMap<string, MinutesFrom>;
  /** What first come, first served would take with as many sticks; undefined where nobody said how many. */
  readonly firstComeMinutes: number | undefined;
}

/** The plan of a round from what each room needs: loads, schedule, and everything in the form in which it is kept. */
export function makeRound(rooms: readonly PlannedRoom[], frame: RoundFrame, wishes: RoundWishes): MadeRound {
  const { loads, loadsOf } = makeLoads(rooms);
  const times = loads.map((load, number) => ({ id: String(number), load, ...timesOf(load, wishes) }));
  const numbers = new Map(times.map(({ load, id }) => [load, id]));
  const question = {
    sticks: wishes.sticks,
    loads: times.map(({ id, load, visit, setUpMinutes }) => ({
      id,
      wipes: load.wipes,
      visitMinutes: visit.minutes,
      setUpMinutes,
    })),
    rooms: rooms.map((room) => ({
      key: room.room.key,
      loads: loadsOf(room).map((load) => numbers.get(load) ?? ''),
    })),
  };
  const { turns, sticks, totalMinutes } = scheduleRound(question);
  const letters = letterLoads(turns);
  const letterOf = (load: PlannedLoad): string => letters.get(numbers.get(load) ?? '') ?? '';
  const { toolVersion, ...kept } = frame;
  const round: Round = {
    schema: 'stickwright/round/2',
    plannedAt: kept.plannedAt,
    tool: { name: 'stickwright', version: toolVersion },
    list: kept.list,
    mode: kept.mode,
    shelf: kept.shelf,
    families: kept.families,
    rooms: rooms.map((room) => roomOf(room, loadsOf(room).map(letterOf))),
    loads: [...letters].flatMap(([number, letter]) =>
      loads.slice(Number(number), Number(number) + 1).map((load) => loadOf(load, letter)),
    ),
    schedule: {
      sticks: loads.length === 0 ? 0 : sticks,
      setUpMinutes: times.reduce((most, { setUpMinutes }) => Math.max(most, setUpMinutes), 0),
      turns: turns.map((turn) => ({ ...turn, load: letters.get(turn.load) ?? '' })),
      totalMinutes,
    },
  };
  return {
    round,
    minutesFrom: new Map(times.map(({ load, visit }) => [letterOf(load), visit.from])),
    firstComeMinutes: wishes.sticks === undefined ? undefined : scheduleFirstCome(question).totalMinutes,
  };
}

const rulesOf = ({ family, mode }: PlannedLoad) => family.modes[mode] ?? customaryRules(mode);

const timesOf = (load: PlannedLoad, wishes: RoundWishes) => ({
  visit: visitMinutesFor(wishes.visitMinutes, rulesOf(load), load.mode),
  setUpMinutes: wishes.setUpMinutes ?? setUpMinutesFor(load.package.shelved.record.bytes),
});

function roomOf({ room, ...planned }: PlannedRoom, letters: readonly string[]): RoundRoom {
  return {
    key: room.key,
    room: room.room,
    row: room.row,
    label: room.label,
    serial: room.serial ?? null,
    asset: room.asset ?? null,
    notes: room.notes ?? null,
    running: room.running ?? null,
    state: planned.state,
    mode: planned.mode,
    wipes: planned.wipes,
    approval: planned.approval ?? null,
    target: planned.target ?? null,
    steps: planned.steps.map(({ build, because }, at) => ({
      load: letters[at] ?? '',
      build,
      because: because ?? null,
    })),
    findings: inOrder(planned.findings).map(saidOf),
    ...(planned.way === undefined ? {} : { way: wayOf(planned.way, room, planned.family) }),
  };
}

const wayOf = ({ way, reason, todo }: Way, { answers }: Room, family: Family | undefined): RoundRoom['way'] => ({
  way,
  reason,
  todo: [...todo],
  answers: { ...answers },
  family: family?.family ?? null,
});

/** It waits for an answer, by what the list says that the panel can still do. */
export const isToAsk = ({ findings }: Pick<RoundRoom, 'findings'>): boolean =>
  findings.some(({ code }) => code === ('round/ask-first' satisfies FindingCode));

const saidOf = (found: Finding): RoundRoom['findings'][number] => ({
  code: found.code,
  severity: severityOf(found),
  subject: found.subject,
  ...textsOf(found),
});

function loadOf(load: PlannedLoad, letter: string): Load {
  const { record, id } = load.package.shelved;
  const build = load.package.package.readings[0]?.build ?? record.build ?? '';
  return {
    id: letter,
    package: { id, name: record.name, sha256: record.sha256, bytes: record.bytes, build },
    mode: load.mode,
    wipes: load.wipes,
    family: load.family.family,
    familyTitle: load.family.title,
    variant: { ...load.variant },
    label: load.rooms[0]?.room.label ?? '',
    rooms: load.rooms.map(({ room }) => room.key),
    panel: panelAdvice(rulesOf(load), load.mode),
    unproven: [...new Set([...checkOpen(record), ...checkOrigin(record.name, load.family)].map(rootCodeOf))],
  };
}
