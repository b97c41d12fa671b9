import { type Finding, finding } from '../../findings/finding.ts';
import type { Load } from '../../model/round.ts';
import type { RoundRecordOf } from '../../model/round-record.ts';
import { checkBuild, checkCircumstances, checkPlate, checkRoomAnswer } from './check-visit.ts';
import { findRoom, nearMisses, type PanelHint } from './find-room.ts';
import { normaliseStickCode } from './order-records.ts';
import type { RoundRecordWithoutDigest } from './own-digests.ts';
import type { RelateBuilds } from './read-visit.ts';
import type { RoomStatus, RoundStatus } from './round-status.ts';

/** How it went, as a person says it. */
export type SaidOutcome =
  | { readonly kind: 'done'; readonly build: string | undefined }
  | { readonly kind: 'failed'; readonly text: string }
  | { readonly kind: 'skipped'; readonly text: string }
  /** Looked at, and it has not updated itself; the build only where somebody read it. */
  | { readonly kind: 'not-yet'; readonly build: string | undefined }
  | { readonly kind: 'approved'; readonly by: string };

export interface VisitWish extends PanelHint {
  /** The room, as a person typed or scanned it. */
  readonly room: string;
  readonly outcome: SaidOutcome;
  readonly stick: string | undefined;
  /** The build on the About page before, where somebody read it there. */
  readonly before: string | undefined;
  /** Undefined: as the mode has it. */
  readonly wiped: boolean | undefined;
  /** Further words, beside the outcome's own. */
  readonly note: string | undefined;
  readonly at: string;
  readonly who: string;
}

/** What every record has of its own: from outside, for core knows no clock and no chance. */
interface Stamp {
  readonly id: string;
  readonly notedAt: string;
}

export interface MadeVisit {
  /** Undefined where no room was found. */
  readonly room: RoomStatus | undefined;
  readonly record: Extract<RoundRecordWithoutDigest, { kind: 'visit' | 'looked' | 'approval' }> | undefined;
  /** Stops among them: it is not to be kept, unless a person accepts them. */
  readonly findings: readonly Finding[];
}

/**
 * A record from what a person says, filled up with what the plan and the earlier records know; and what is odd about
 * it.
 */
export function makeVisit(wish: VisitWish, status: RoundStatus, relate: RelateBuilds, stamp: Stamp): MadeVisit {
  const answer = findRoom(wish.room, status.round.rooms, wish);
  if (answer.state !== 'one') {
    return { room: undefined, record: undefined, findings: checkRoomAnswer(wish.room, answer) };
  }
  const room = status.rooms.find((one) => one.room.key === answer.room.key);
  if (room === undefined) throw new TypeError('a folded round has every room of its plan');
  const plate = checkPlate(wish, room.room);
  const base = { schema: 'stickwright/round-record/1', ...stamp, at: wish.at, who: wish.who } as const;
  const panel = {
    room: room.room.key,
    label: wish.label ?? room.room.label,
    serial: wish.serial ?? room.room.serial,
    asset: room.room.asset,
  };
  if (wish.outcome.kind === 'approved') {
    return { room, record: { ...base, kind: 'approval', ...panel, by: wish.outcome.by }, findings: plate };
  }
  const { outcome } = wish;
  const stick = wish.stick ?? answer.stick;
  if (room.room.state === 'over-the-air' && stick === undefined && outcome.kind !== 'skipped') {
    const looked = lookAt(outcome, wish, room, relate);
    const record = { ...base, schema: 'stickwright/round-record/2', ...panel, ...looked } as const;
    const findings = [...plate, ...checkBuild(record, room, relate), ...checkCircumstances(record, room, undefined)];
    return { room, record, findings };
  }
  if (outcome.kind === 'not-yet') {
    return { room, record: undefined, findings: [...plate, finding('record/not-over-the-air', room.room.key)] };
  }
  const brought = broughtBy(stick, room, status);
  const wipes = room.next?.load.wipes ?? room.room.wipes;
  const wiped = wish.wiped ?? (outcome.kind !== 'skipped' && (brought.load?.wipes ?? wipes));
  const said = outcome.kind === 'done' ? [] : [outcome.text];
  const record: Omit<RoundRecordOf<'visit'>, 'selfSha256'> = {
    ...base,
    kind: 'visit',
    ...panel,
    ...(outcome.kind === 'skipped' ? { stick: null, package: null, mode: null } : brought.carried),
    outcome: outcome.kind,
    buildBefore: wish.before ?? room.reached ?? room.room.running,
    buildAfter: outcome.kind === 'done' ? (outcome.build?.trim() ?? null) : null,
    wiped,
    text: [...said, ...(wish.note === undefined ? [] : [wish.note])].join('\n') || null,
  };
  const findings = [
    ...plate,
    ...(outcome.kind === 'skipped' ? [] : brought.findings),
    ...checkBuild(record, room, relate),
    ...checkCircumstances(record, room, wish.wiped),
  ];
  return { room, record, findings };
}

/** What was seen of a panel that was to update itself: the build tells, whatever it is called. */
function lookAt(
  outcome: Exclude<SaidOutcome, { kind: 'skipped' | 'approved' }>,
  wish: VisitWish,
  { room, family }: RoomStatus,
  relate: RelateBuilds,
) {
  // Of the plan, not of the last look: a panel that shows its new build once more has it still.
  const before = wish.before ?? room.running;
  const build = outcome.kind === 'failed' ? null : (outcome.build?.trim() ?? null);
  const isSame = build !== null && before !== null && relate(family, build, before) === 'same';
  const said = [...(outcome.kind === 'failed' ? [outcome.text] : []), ...(wish.note === undefined ? [] : [wish.note])];
  return {
    kind: 'looked',
    stick: null,
    package: null,
    mode: null,
    wiped: false,
    outcome: outcome.kind === 'done' && isSame ? 'not-yet' : outcome.kind,
    buildBefore: before,
    buildAfter: build,
    text: said.join('\n') || null,
  } as const;
}

interface Brought {
  readonly load: Load | undefined;
  readonly carried: Pick<RoundRecordOf<'visit'>, 'stick' | 'package' | 'mode'>;
  readonly findings: readonly Finding[];
}

/**
 * Stick, package and mode of a visit: of the stick that was named; else of what is due, with its stick if there is only
 * one.
 */
function broughtBy(typed: string | undefined, room: RoomStatus, { sticks }: RoundStatus): Brought {
  const due = room.next?.load;
  const packageOf = ({ package: { name, sha256, build } }: Load) => ({ name, sha256, build });
  if (typed === undefined) {
    const [only, ...others] = room.sticks;
    const stick = others.length === 0 ? (only ?? null) : null;
    const carried = { stick, package: due === undefined ? null : packageOf(due), mode: due?.mode ?? null };
    return { load: due, carried, findings: due === undefined ? [] : checkUnnamed(room, due) };
  }
  const code = normaliseStickCode(typed);
  const found = sticks.find((one) => one.code === code);
  const prepared = found?.prepared;
  if (prepared === undefined) {
    const known = sticks.filter((one) => one.prepared !== undefined);
    const near = nearMisses(code, known, (one) => [one.code]).map((one) => one.code);
    return {
      load: undefined,
      carried: { stick: code, package: null, mode: null },
      findings: [finding('record/stick-unknown', code, { near })],
    };
  }
  const carried = { stick: code, package: prepared.package, mode: prepared.mode };
  const isDue = due === undefined || (prepared.package?.sha256 === due.package.sha256 && prepared.mode === due.mode);
  const findings = isDue
    ? []
    : [
        finding('record/stick-elsewhere', code, {
          load: found?.load?.id ?? prepared.load,
          build: prepared.package?.build ?? null,
          due: due.package.build,
          dueLoad: due.id,
          dueSticks: room.sticks,
        }),
      ];
  return { load: found?.load, carried, findings };
}

function checkUnnamed({ room, sticks }: RoomStatus, due: Load): readonly Finding[] {
  const [only, ...others] = sticks;
  if (only === undefined) return [];
  if (others.length === 0) return [finding('record/stick-assumed', only, { load: due.id })];
  return [finding('record/stick-not-named', room.key, { load: due.id, sticks })];
}
