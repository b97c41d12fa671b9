import { checkMode } from '../../checks/fit/check-fit.ts';
import type { FindingCode } from '../../findings/catalogue.ts';
import { type Finding, finding, severityOf, type Verdict, worstOf } from '../../findings/finding.ts';
import { answersOfList } from '../../guide/way-questions.ts';
import { askWhatToKeep, mayHoldSomething, type Way, wayOfSome } from '../../guide/which-way.ts';
import type { Family } from '../../model/family.ts';
import { type Mode, modeTraits } from '../../model/mode.ts';
import type { Room } from '../../model/room.ts';
import type { RoomState } from '../../model/round.ts';
import type { DamagedEntry } from '../../shelf/check-newcomer.ts';
import type { ShelfRecord, ShelvedPackage } from '../../shelf/shelf-record.ts';
import { type Course, findCourse, type PlannedStep } from './course-to-newest.ts';
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

/** What one room needs: nothing, which sticks in which order, no stick at all, or why it is stopped or not told. */
function planRoom({ room, mode: usual, approvedBy }: RoomQuestion, shelf: ShelfForRooms): PlannedRoom {
  const approval = approvedBy ?? room.approval;
  const answer = shelf.answerFor(room.label);
  const { panel, newest, fitting } = answer;
  const course =
    panel === undefined || newest === undefined
      ? undefined
      : findCourse({ roomKey: room.key, running: room.running, panel, newest, fitting });
  const target = newest?.package.readings[0]?.build;
  const family = panel?.family;
  const way = wayFor(room, approval, { family, target, isThere: course?.isThere === true });
  const base = { room, mode: usual, approval, family, target, way };
  if (way?.way === 'over-the-air') return overTheAir(base, answer.findings, course);
  if (way?.way === 'stop-and-ask') {
    const known = worthSaying([...answer.findings, ...(course?.findings ?? []), askFirst(room, way)]);
    return { ...base, state: 'cannot-tell', wipes: false, steps: [], findings: known };
  }
  const mode = room.mode ?? way?.mode ?? usual;
  return planSticks({ ...base, mode }, [...answer.findings, ...checkMode(mode, family)], course, shelf);
}

type Base = Pick<PlannedRoom, 'room' | 'mode' | 'approval' | 'family' | 'target' | 'way'>;

/**
 * The way by what the list says that the panel can still do; undefined where it says nothing, where it asks for a mode,
 * and where a panel that starts has the newest build already.
 */
function wayFor(room: Room, approval: string | undefined, known: Parameters<typeof wayOfSome>[1]): Way | undefined {
  const isAnswered = Object.keys(room.answers).length > 0;
  if (room.mode !== undefined || !isAnswered) return undefined;
  if (known.isThere && room.answers.starts !== 'no') return undefined;
  return wayOfSome(answersOfList(room.answers, approval), known);
}

const askFirst = ({ key }: Room, { reason, todo }: Pick<Way, 'reason' | 'todo'>): Finding =>
  finding('round/ask-first', key, { reason, todo });

/** It needs neither package nor stick: what is missing of these is in nobody's way. */
function overTheAir(base: Base, findings: readonly Finding[], course: Course | undefined): PlannedRoom {
  const isAhead = course?.findings.some(({ code }) => code === 'round/runs-newer') === true;
  const target = isAhead ? undefined : base.target;
  const way = wayFor(base.room, base.approval, { family: base.family, target });
  const said = findings.filter((found) => severityOf(found) === 'caution');
  return { ...base, target, way, state: 'over-the-air', wipes: false, steps: [], findings: said };
}

function planSticks(
  base: Base,
  known: readonly Finding[],
  course: Course | undefined,
  shelf: ShelfForRooms,
): PlannedRoom {
  const { room, mode, approval, family } = base;
  const rules = family?.modes[mode];
  const wipesByMode = rules?.['keeps-data'] === false;
  if (course === undefined) {
    return { ...base, state: stateOf(known), wipes: wipesByMode, steps: [], findings: known };
  }
  if (course.isThere && rules !== undefined) {
    const said = worthSaying([...known, ...course.findings, ...checkAsked(room)]);
    return { ...base, state: stateOf(said, 'up-to-date'), wipes: false, steps: [], findings: said };
  }
  const { steps } = course;
  const wiping = steps.find((step) => packageWipes(step.package.shelved.record));
  const wipes = wipesByMode || wiping !== undefined;
  const stops = steps.flatMap((step) => shelf.saysOf(step.package)).filter((found) => severityOf(found) === 'stop');
  const asked = wipes && approval === undefined ? [notApproved(room, mode, newestOf(steps, wiping), !wipesByMode)] : [];
  const worth = wipes ? checkWorthKeeping(base) : [];
  const findings = worthSaying([...known, ...course.findings, ...stops, ...asked, ...worth]);
  const state = stateOf(findings);
  return { ...base, state, wipes, steps: state === 'update' ? steps : [], findings };
}

/** Also where the list asks for the mode, or where only the package erases: its word on what is on the panel counts. */
function checkWorthKeeping({ room, approval, way }: Base): readonly Finding[] {
  const isSaid = way !== undefined || room.answers.keep !== undefined;
  if (!isSaid || !mayHoldSomething(answersOfList(room.answers, approval))) return [];
  return [askFirst(room, askWhatToKeep('The update erases everything on it.'))];
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
  /** By what the list says that the panel can still do; undefined where it does not say, or asks for a mode. */
  readonly way: Way | undefined;
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
  'over-the-air': 'ready',
};
