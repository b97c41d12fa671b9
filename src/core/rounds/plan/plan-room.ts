import type { FindingCode } from '../../findings/catalogue.ts';
import { type Finding, finding, severityOf } from '../../findings/finding.ts';
import type { ModeRules } from '../../model/family.ts';
import type { Mode } from '../../model/mode.ts';
import type { Room } from '../../model/room.ts';
import type { RoomState } from '../../model/round.ts';
import { findWay } from './find-way.ts';
import { packageWipes } from './package-wipes.ts';
import type { PlannedRoom, PlannedStep } from './planned-room.ts';
import type { LabelAnswer, ShelfForRooms } from './shelf-for-rooms.ts';

export interface RoomQuestion {
  readonly room: Room;
  /** Of the round, for rooms that the list asks no mode for. */
  readonly mode: Mode;
  /** Who approved a wipe of this room, by the records. */
  readonly approvedBy: string | undefined;
}

/** What one room needs: nothing, which sticks in which order, or why it is stopped or cannot be told. */
export function planRoom({ room, mode: usual, approvedBy }: RoomQuestion, shelf: ShelfForRooms): PlannedRoom {
  const mode = room.mode ?? usual;
  const approval = approvedBy ?? room.approval;
  const answer = shelf.answerFor(room.label);
  const { panel, newest } = answer;
  const rules = panel?.family.modes[mode];
  const base = { room, mode, approval, family: panel?.family, target: newest?.package.readings[0]?.build };
  const known = [...answer.findings, ...checkMode(mode, answer, rules)];
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

function checkMode(mode: Mode, { panel }: LabelAnswer, rules: ModeRules | undefined): readonly Finding[] {
  if (panel === undefined || rules !== undefined) return [];
  const facts = { mode, family: panel.family.title, offered: Object.keys(panel.family.modes) };
  return [finding('plan/mode-not-offered', mode, facts)];
}

/** Somebody wrote a recovery into the list on purpose; it is not left out without a word. */
const checkAsked = ({ key, mode, running = '' }: Room): readonly Finding[] =>
  mode === 'recovery' ? [finding('round/recovery-not-needed', key, { build: running })] : [];

/** Stops that say that something is missing or unclear, not that it must not be done. */
const unclear: ReadonlySet<FindingCode> = new Set<FindingCode>([
  'label/read-by-two-families',
  'label/possible-misread',
  'label/part-missing',
  'label/unreadable',
  'shelf/none-fits',
  'shelf/record-damaged',
  'shelf/name-twice',
]);

function stateOf(findings: readonly Finding[], otherwise: RoomState = 'update'): RoomState {
  const severe = findings.filter((found) => ['stop', 'unproven'].includes(severityOf(found)));
  if (severe.some((found) => severityOf(found) === 'unproven' || unclear.has(found.code))) return 'cannot-tell';
  return severe.length > 0 ? 'stopped' : otherwise;
}
