import { readBuild } from '../../build/read-build.ts';
import { checkBuilds } from '../../checks/fit/check-builds.ts';
import { checkMode } from '../../checks/fit/check-fit.ts';
import { bridgesFor } from '../../checks/fit/find-update-path.ts';
import type { FindingCode } from '../../findings/catalogue.ts';
import { type Finding, finding, severityOf, type Verdict, worstOf } from '../../findings/finding.ts';
import type { Family } from '../../model/family.ts';
import { type Mode, modeTraits } from '../../model/mode.ts';
import type { LabelReading } from '../../model/panel-identity.ts';
import type { Room } from '../../model/room.ts';
import type { RoomState } from '../../model/round.ts';
import type { DamagedEntry } from '../../shelf/check-newcomer.ts';
import { findSteps } from '../../shelf/find-steps.ts';
import type { ReadPackage } from '../../shelf/index-shelf.ts';
import type { ShelfRecord, ShelvedPackage } from '../../shelf/shelf-record.ts';
import { type ShelfForRooms, shelfForRooms } from './shelf-for-rooms.ts';

export interface RoomsQuestion {
  readonly rooms: readonly Room[];
  readonly mode: Mode;
  readonly families: readonly Family[];
  readonly packages: readonly ShelvedPackage[];
  readonly damaged: readonly DamagedEntry[];
  /** Who approved the wipe of a room, by the room's key. */
  readonly approvals: ReadonlyMap<string, string>;
}

interface RoomsAnswer {
  readonly rooms: readonly PlannedRoom[];
  /** What to mind of packages that the rooms need, each package once. */
  readonly aboutPackages: readonly Finding[];
}

/** What every room of a list needs. Families and shelf are read once, and equal labels once. */
export function planRooms(question: RoomsQuestion): RoomsAnswer {
  const { packages, damaged, families, mode, approvals } = question;
  const shelf = shelfForRooms(packages, damaged, families);
  const rooms = question.rooms.map((room) => planRoom({ room, mode, approvedBy: approvals.get(room.key) }, shelf));
  const needed = new Set(rooms.flatMap(({ steps }) => steps.map((step) => step.package)));
  const aboutPackages = [...needed].flatMap(shelf.saysOf).filter((found) => severityOf(found) !== 'note');
  return { rooms, aboutPackages };
}

interface RoomQuestion {
  readonly room: Room;
  /** Of the round, for rooms that the list asks no mode for. */
  readonly mode: Mode;
  /** Who approved a wipe of this room, by the records. */
  readonly approvedBy: string | undefined;
}

/** What one room needs: nothing, which sticks in which order, or why it is stopped or cannot be told. */
function planRoom({ room, mode: usual, approvedBy }: RoomQuestion, shelf: ShelfForRooms): PlannedRoom {
  const mode = room.mode ?? usual;
  const approval = approvedBy ?? room.approval;
  const answer = shelf.answerFor(room.label);
  const { panel, newest } = answer;
  const rules = panel?.family.modes[mode];
  const base = { room, mode, approval, family: panel?.family, target: newest?.package.readings[0]?.build };
  const known = [...answer.findings, ...checkMode(mode, panel?.family)];
  const wipesByMode = rules?.['keeps-data'] === false;
  if (panel === undefined || newest === undefined) {
    return { ...base, state: stateOf(known), wipes: wipesByMode, steps: [], findings: known };
  }
  const way = findWay({ roomKey: room.key, running: room.running, panel, newest, fitting: answer.fitting });
  if (way.isThere && rules !== undefined) {
    const said = worthSaying([...known, ...way.findings, ...checkAsked(room)]);
    return { ...base, state: stateOf(said, 'up-to-date'), wipes: false, steps: [], findings: said };
  }
  const steps = way.steps;
  const wiping = steps.find((step) => packageWipes(step.package.shelved.record));
  const wipes = wipesByMode || wiping !== undefined;
  const stops = steps.flatMap((step) => shelf.saysOf(step.package)).filter((found) => severityOf(found) === 'stop');
  const asked = wipes && approval === undefined ? [notApproved(room, mode, newestOf(steps, wiping), !wipesByMode)] : [];
  const findings = worthSaying([...known, ...way.findings, ...stops, ...asked]);
  const state = stateOf(findings);
  return { ...base, state, wipes, steps: state === 'update' ? steps : [], findings };
}

const newestOf = (steps: readonly PlannedStep[], wiping: PlannedStep | undefined): string =>
  (wiping ?? steps.at(-1))?.package.shelved.record.name ?? '';

const notApproved = ({ key }: Room, mode: Mode, name: string, byPackage: boolean): Finding =>
  finding('round/wipe-not-approved', key, { mode, name, byPackage });

const worthSaying = (findings: readonly Finding[]): readonly Finding[] =>
  findings.filter((found) => severityOf(found) !== 'note');

/** Somebody wrote a recovery into the list on purpose; it is not left out without a word. */
const checkAsked = ({ key, mode, running = '' }: Room): readonly Finding[] =>
  mode !== undefined && modeTraits[mode].isLastResort
    ? [finding('round/recovery-not-needed', key, { build: running })]
    : [];

/** Stops that say that something is missing or unclear, not that it must not be done. */
const unclear: ReadonlySet<FindingCode> = new Set<FindingCode>([
  'label/read-by-two-families',
  'label/possible-misread',
  'label/digits-differ',
  'label/read-otherwise',
  'label/letters-of-another-alphabet',
  'label/part-missing',
  'label/unreadable',
  'shelf/none-fits',
  'shelf/record-damaged',
  'shelf/name-twice',
]);

/**
 * Doubts that somebody settles at the panel, before the stick goes in: the room keeps its stick, and is unproven until
 * then.
 */
const settledAtThePanel: ReadonlySet<FindingCode> = new Set<FindingCode>(['round/running-not-said']);

function stateOf(findings: readonly Finding[], otherwise: RoomState = 'update'): RoomState {
  const severe = findings.filter(
    (found) => ['stop', 'unproven'].includes(severityOf(found)) && !settledAtThePanel.has(found.code),
  );
  if (severe.some((found) => severityOf(found) === 'unproven' || unclear.has(found.code))) return 'cannot-tell';
  return severe.length > 0 ? 'stopped' : otherwise;
}

/** One stick that a room needs. */
export interface PlannedStep {
  readonly package: ReadPackage;
  readonly build: string;
  /** The maker's reason for a bridge; undefined for the target. */
  readonly because: string | undefined;
}

/** What a room needs, or why it gets nothing. */
export interface PlannedRoom {
  readonly room: Room;
  readonly state: RoomState;
  readonly mode: Mode;
  /** The update erases everything on this panel. */
  readonly wipes: boolean;
  readonly approval: string | undefined;
  /** The one family that reads its label. */
  readonly family: Family | undefined;
  /** The newest build on the shelf for it, where there is one. */
  readonly target: string | undefined;
  /** In their order; empty unless the state is `update`. */
  readonly steps: readonly PlannedStep[];
  readonly findings: readonly Finding[];
}

interface WayQuestion {
  readonly roomKey: string;
  readonly running: string | undefined;
  readonly panel: LabelReading['readings'][number];
  readonly newest: ReadPackage;
  readonly fitting: readonly ReadPackage[];
}

interface Way {
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
function findWay({ roomKey, running, panel, newest, fitting }: WayQuestion): Way {
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
  const builds = checkBuilds({ running, packaged, family, parts });
  if (builds.some(({ code }) => code === 'build/same')) return { isThere: true, steps: [], findings: builds };
  if (builds.some(({ code }) => code === 'build/older')) {
    return noWay(finding('round/runs-newer', roomKey, { running, newest: packaged }));
  }
  if (!builds.some(({ code }) => code === 'build/bridge-needed')) {
    return { isThere: false, steps: direct, findings: builds };
  }
  return overBridges(builds, running, { panel, newest, fitting });
}

const noWay = (found: Finding): Way => ({ isThere: false, steps: [], findings: [found] });

function overBridges(
  builds: readonly Finding[],
  running: string,
  { panel, newest, fitting }: Pick<WayQuestion, 'panel' | 'newest' | 'fitting'>,
): Way {
  const others = builds.filter(({ code }) => code !== 'build/bridge-needed');
  const from = readBuild(running, panel.family.build).build;
  const way = findSteps(from, newest, fitting, panel);
  const steps = way.steps.flatMap(({ build, because, shelved }) => {
    const one = fitting.find((fits) => fits.shelved === shelved);
    return one === undefined ? [] : [{ package: one, build, because }];
  });
  return { isThere: false, steps, findings: [...others, ...way.findings] };
}

/** What an inspection says of a package that tells the panel to erase its data. */
const wipeCodes: readonly FindingCode[] = ['update/wipes-data', 'update/wipe-breaks-promise'];

/**
 * Whether the package itself erases, in whichever mode it is taken: POWERWASH, ota-wipe, as found when it was added.
 */
const packageWipes = ({ result }: Pick<ShelfRecord, 'result'>): boolean =>
  result.findings.some(({ code }) => wipeCodes.some((wipe) => wipe === code));

/** Never ready where something of the room is open, also where it has its stick. */
export const verdictOfRoom = ({ state, findings }: Pick<PlannedRoom, 'state' | 'findings'>): Verdict =>
  worstOf([
    verdictOfState[state],
    ...(findings.some((found) => severityOf(found) === 'unproven') ? (['unproven'] as const) : []),
  ]);

const verdictOfState: Record<RoomState, Verdict> = {
  'up-to-date': 'ready',
  update: 'ready',
  stopped: 'not-ready',
  'cannot-tell': 'unproven',
};
