import type { RoundRecordReport } from '../../core/report/round-reports.ts';
import type { VisitWish } from '../../core/rounds/records/make-visit.ts';
import { roundRecordDocument } from '../../render/json/round-documents.ts';
import { serialise } from '../../render/json/serialise.ts';
import { renderRoundRecord } from '../../render/text/render-round-record.ts';
import type { RoundDesk } from '../../workflows/round-desk.ts';
import { recordVisit, withdrawRecord } from '../../workflows/round-record.ts';
import { recordList } from '../../workflows/round-record-list.ts';
import { acceptedReasons } from '../accepted-reasons.ts';
import { askVisit } from '../ask-visit.ts';
import { exitCodeOf } from '../exit-codes.ts';
import { localTime, parseTime } from '../parse-time.ts';
import { readFilledList } from '../read-filled-list.ts';
import { roundDeskFor } from '../round-desk-for.ts';
import { whoIs } from '../round-folder-for.ts';
import { isInteractive, lookOf, say } from '../screen.ts';
import { UsageError } from '../usage-error.ts';

export interface RoundRecordOptions {
  readonly build?: string | undefined;
  readonly failed?: string | undefined;
  readonly skipped?: string | undefined;
  readonly approvedBy?: string | undefined;
  readonly stick?: string | undefined;
  readonly before?: string | undefined;
  readonly at?: string | undefined;
  readonly note?: string | undefined;
  readonly wiped?: true | undefined;
  readonly notWiped?: true | undefined;
  readonly from?: string | undefined;
  readonly withdraw?: string | undefined;
  readonly label?: string | undefined;
  readonly serial?: string | undefined;
  readonly who?: string | undefined;
  readonly round?: string | undefined;
  readonly accept: readonly string[];
  readonly because: readonly string[];
  readonly json?: true | undefined;
}

export async function runRoundRecord(room: string | undefined, options: RoundRecordOptions): Promise<number> {
  checkWords(room, options);
  const desk = await roundDeskFor(options);
  if (options.withdraw !== undefined) return await tell(await withdraw(options.withdraw, options, desk), options);
  if (options.from !== undefined) return await tell(await takeList(options.from, options, desk), options);
  const wish = wishOf(room ?? '', options, desk);
  if (wish !== undefined) return await tell(await recordVisit(wish, acceptedReasons(options), desk), options);
  return await askUntilDone(room, options, desk);
}

async function tell(report: RoundRecordReport, { json }: RoundRecordOptions): Promise<number> {
  const exitCode = exitCodeOf(report.verdict);
  const look = lookOf(process.stdout, process.env);
  await say(json ? serialise(roundRecordDocument(report, exitCode)) : renderRoundRecord(report, look));
  return exitCode;
}

const outcomeOptions = ['build', 'failed', 'skipped', 'approvedBy'] as const;

function checkWords(room: string | undefined, options: RoundRecordOptions): void {
  const outcomes = outcomeOptions.filter((name) => options[name] !== undefined);
  const others = [options.from, options.withdraw].filter((one) => one !== undefined);
  if (outcomes.length + others.length > 1) {
    throw new UsageError(
      'More than one outcome was given.',
      'Give one of --build, --failed, --skipped, --approved-by, --from, --withdraw; one command for each visit.',
    );
  }
  const empty = outcomes.find((name) => options[name]?.trim() === '');
  if (empty !== undefined) {
    throw new UsageError(
      `--${empty === 'approvedBy' ? 'approved-by' : empty} is empty.`,
      'Say what was seen, in the exact words.',
    );
  }
  if (options.wiped && options.notWiped) {
    throw new UsageError('Both --wiped and --not-wiped were given.', 'Give the one that is true.');
  }
  if (others.length > 0) {
    if (room !== undefined)
      throw new UsageError('A room was named beside --from or --withdraw.', 'Leave the room out.');
    return;
  }
  if (outcomes.length === 1 && room === undefined) {
    throw new UsageError('No room was named.', 'Name it first: stickwright round record "Room 2.14" --build reed.1717');
  }
  if (outcomes.length === 0 && (options.json || !isInteractive())) {
    throw new UsageError(
      'No outcome was given, and nobody is here to ask: this is not a terminal, or --json was given.',
      'Give one of --build, --failed, --skipped, --approved-by, --from, --withdraw.',
    );
  }
}

/** Undefined where no outcome is given. */
function wishOf(room: string, options: RoundRecordOptions, desk: RoundDesk): VisitWish | undefined {
  const { build, failed, skipped, approvedBy } = options;
  const base = {
    room,
    label: options.label,
    serial: options.serial,
    stick: options.stick,
    before: options.before,
    wiped: options.wiped ? true : options.notWiped ? false : undefined,
    note: options.note,
    at: timeOf(options, desk),
    who: whoIs(options.who),
  };
  if (build !== undefined) return { ...base, outcome: { kind: 'done', build } };
  if (failed !== undefined) return { ...base, outcome: { kind: 'failed', text: failed } };
  if (skipped !== undefined) return { ...base, outcome: { kind: 'skipped', text: skipped } };
  return approvedBy === undefined ? undefined : { ...base, outcome: { kind: 'approved', by: approvedBy.trim() } };
}

function timeOf({ at }: RoundRecordOptions, desk: RoundDesk): string {
  const nowMs = Date.parse(desk.now());
  if (at === undefined) return localTime(new Date(nowMs));
  const read = parseTime(at, nowMs);
  if (read === undefined) {
    throw new UsageError(
      `"${at}" is no time.`,
      'Write 07:40 for today, 2026-11-03 07:40 in local time, or 2026-11-03T07:40:00+01:00.',
    );
  }
  if (Date.parse(read) > nowMs + 5 * 60_000) {
    throw new UsageError(
      `${at} lies in the future.`,
      'Say when it was done; write the day as well if it was not today.',
    );
  }
  return read;
}

async function withdraw(id: string, options: RoundRecordOptions, desk: RoundDesk): Promise<RoundRecordReport> {
  const [because, ...others] = options.because;
  if (because === undefined || others.length > 0 || because.trim().length < 3 || options.accept.length > 0) {
    throw new UsageError(
      'A line is withdrawn with one reason.',
      `For example: stickwright round record --withdraw ${id} --because "wrong room"`,
    );
  }
  return await withdrawRecord({ id, because, at: timeOf(options, desk), who: whoIs(options.who) }, desk);
}

async function takeList(path: string, options: RoundRecordOptions, desk: RoundDesk): Promise<RoundRecordReport> {
  const nowMs = Date.parse(desk.now());
  const list = await readFilledList(path, desk.folder);
  const otherwise = { at: timeOf(options, desk), who: whoIs(options.who) };
  return await recordList({ ...list, source: path, readTime: (text) => parseTime(text, nowMs), otherwise }, desk);
}

/** Room after room at a terminal, until nobody names another; the worst answer is the exit code. */
async function askUntilDone(room: string | undefined, options: RoundRecordOptions, desk: RoundDesk): Promise<number> {
  let worst = 0;
  for (let next = room; ; next = undefined) {
    const asked = await askVisit(next, desk);
    if (asked === undefined) return worst;
    const wish = { ...asked, at: timeOf(options, desk), who: whoIs(options.who) };
    const report = await recordVisit(wish, new Map(), desk);
    const exitCode = await tell(report, options);
    if (exitCode !== 0) worst = exitCode;
    if (room !== undefined && report.recorded.length > 0) return worst;
  }
}
