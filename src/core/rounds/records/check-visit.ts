import { type Finding, finding } from '../../findings/finding.ts';
import type { RoundRoom } from '../../model/round.ts';
import type { Visit } from '../../model/round-record.ts';
import { normaliseLabel, upperForComparing } from '../../text/label-text.ts';
import { leastMinutes } from '../plan/usual-practice.ts';
import { type PanelHint, type RoomAnswer, roomInWords } from './find-room.ts';
import type { WithoutDigest } from './own-digests.ts';
import { isOverTheAir, type RelateBuilds, readVisit } from './read-visit.ts';
import type { RoomStatus } from './round-status.ts';

const comparable = (text: string): string => upperForComparing(normaliseLabel(text));

/** The one room that a person's words were to stand for. */
export function checkRoomAnswer(words: string, answer: RoomAnswer): readonly Finding[] {
  switch (answer.state) {
    case 'one':
      return [];
    case 'several':
      return [finding('record/room-ambiguous', words, { rooms: answer.rooms.map(roomInWords) })];
    case 'none':
      return [finding('record/room-unknown', words, { near: answer.near.map(({ key }) => key) })];
  }
}

/** The plate that a person read beside the list. */
export function checkPlate({ label, serial }: PanelHint, room: RoundRoom): readonly Finding[] {
  const differs = (typed: string | undefined, listed: string | null): typed is string =>
    typed !== undefined && listed !== null && comparable(typed) !== comparable(listed);
  return [
    ...(differs(label, room.label)
      ? [finding('record/label-differs', room.key, { list: room.label, panel: label })]
      : []),
    ...(differs(serial, room.serial)
      ? [finding('record/serial-differs', room.key, { list: room.serial ?? '', panel: serial })]
      : []),
  ];
}

type VisitWithoutDigest = WithoutDigest<Visit>;

/** The build that a person read beside the one before and those that the plan means. */
export function checkBuild(record: VisitWithoutDigest, status: RoomStatus, relate: RelateBuilds): readonly Finding[] {
  const { room, family } = status;
  const { key, target } = room;
  const reading = readVisit({ ...record, selfSha256: '' }, room, family, relate);
  if (reading.result === 'not-yet') {
    return [finding('record/not-yet', key, { build: record.buildAfter, target, todo: lookAgainOf(room) })];
  }
  if (record.outcome !== 'done') return [];
  const build = record.buildAfter ?? '';
  switch (reading.because) {
    case 'not-read':
      return [finding('record/build-not-read', key)];
    case 'unchanged':
      return [finding('record/build-unchanged', key, { build, target })];
    case 'unexpected': {
      const order = target === null ? 'cannot-order' : relate(family, build, target);
      const steps = room.steps.map((step) => step.build);
      return [finding('record/build-unexpected', key, { build, target, steps, order })];
    }
    default:
      return [];
  }
}

/** Nobody tries a panel twice within a minute (common practice, no source). */
const shortestTryMs = 60_000;

/** When to look at it again, as its plan says. */
const lookAgainOf = ({ way }: RoundRoom): readonly string[] => (way?.way === 'over-the-air' ? way.todo : []);

const notByStick: Readonly<Partial<Record<RoundRoom['state'], string>>> = {
  'up-to-date': 'it runs the newest build already',
  'over-the-air': 'it was to update itself, without a stick',
};

/** What is odd about a visit beside its build: a wipe, a room that was not to be done, the same line again. */
export function checkCircumstances(
  record: VisitWithoutDigest,
  status: RoomStatus,
  wiped: boolean | undefined,
): readonly Finding[] {
  const { room, approval } = status;
  const found: Finding[] = [];
  if (record.wiped && approval === null) found.push(finding('record/wiped-unapproved', room.key));
  if (record.wiped && record.outcome === 'failed' && wiped === undefined) {
    found.push(finding('record/wipe-assumed', room.key));
  }
  const isPlanned = room.state === (isOverTheAir(record) ? 'over-the-air' : 'update');
  if (!isPlanned && record.outcome !== 'skipped') {
    const why = room.findings.find(({ severity }) => severity === 'stop' || severity === 'unproven');
    const state = notByStick[room.state] ?? why?.title ?? 'the plan stopped it';
    found.push(finding('record/not-planned', room.key, { state }));
  }
  const mode = record.mode ?? room.mode;
  const closeMs = leastMinutes(status.next?.load.panel, mode) * 60_000;
  const twin = status.visits.find(
    ({ visit }) =>
      visit.outcome === record.outcome &&
      visit.who === record.who &&
      visit.buildAfter === record.buildAfter &&
      visit.text === record.text &&
      Math.abs(Date.parse(visit.at) - Date.parse(record.at)) < closeMs,
  );
  if (twin !== undefined) {
    const facts = { id: twin.visit.id, at: twin.visit.at };
    const apartMs = Math.abs(Date.parse(twin.visit.at) - Date.parse(record.at));
    const isOneTry = record.outcome === 'failed' && apartMs < shortestTryMs;
    found.push(
      isOneTry ? finding('record/failed-just-now', room.key, facts) : finding('record/same-again', room.key, facts),
    );
  }
  return found;
}
