import { Option } from '@commander-js/extra-typings';
import type { VisitWish } from '../../core/rounds/records/make-visit.ts';
import type { RoundDesk } from '../../workflows/round-desk.ts';
import { fileNamed, roundDeskFor, whoIs } from '../desk.ts';
import { confirmed, isAskable } from '../frame/agree.ts';
import { command, type Frame } from '../frame/command.ts';
import { UsageError } from '../frame/exit-codes.ts';
import { accept, because, endings, json, panelLabel, panelSerial, round } from '../words.ts';

export const roundRecord = command({
  words: (it) =>
    it
      .description(
        'Notes one visit, an approval, or a filled-in list. Without an outcome it asks. Lines are added and flushed, never changed; a failed room gets the next step.',
      )
      .argument('[room]', 'room, asset tag, serial, or the scanned code of a card')
      .option('--build <build>', 'done: the build on the About page now')
      .option('--failed <text>', 'it failed: the exact words on the screen')
      .option('--skipped <text>', 'nothing was done: why')
      .option('--not-yet', 'a panel that updates itself was looked at, and has not yet')
      .option('--approved-by <name>', 'who approved that this panel is wiped')
      .option('-s, --stick <code>', 'code on the tag of the stick')
      .option('--before <build>', 'the build on the About page before')
      .option('--at <time>', 'when: 07:40 for today, 2026-11-03 07:40, or RFC 3339 (default: now)')
      .option('--note <text>', 'anything else worth keeping')
      .option('--wiped', 'the panel was wiped (default: as the mode has it)')
      .option('--not-wiped', 'the panel kept its data, although the mode wipes')
      .option('--from <file>', 'take the rows of a filled-in list: that of round export, or one with usual headings')
      .option('--withdraw <id>', 'an earlier line was wrong and does not count; needs --because')
      .addOption(panelLabel())
      .addOption(panelSerial())
      .addOption(new Option('--who <name>', 'who did it (default: STICKWRIGHT_WHO, or your login)'))
      .addOption(round())
      .addOption(accept())
      .addOption(because('record'))
      .addOption(json()),
  examples: [
    'stickwright round record "Room 2.14" --build reed.1717 --stick CLY-FTJ',
    'stickwright round record QSA-10214 --failed "No update file found" --at 07:40',
    'stickwright round record 2.15 --skipped "exam until noon"',
    'stickwright round record "Room 2.16" --not-yet',
    'stickwright round record Library --approved-by "D. Harrow"',
    'stickwright round record --from monday.csv --who Ada',
    'stickwright round record --withdraw 0f4b1a52 --because "wrong room"',
  ],
  codes: endings('recorded', 'not recorded, or not all', 'recorded, and something is not clear'),
  run: async (room, options, frame) => {
    checkWords(room, options, frame);
    const desk = await roundDeskFor(options);
    if (options.withdraw !== undefined) return await withdraw(options.withdraw, options, desk);
    if (options.from !== undefined) return await takeList(await fileNamed(options.from), options, desk);
    const wish = await wishOf(room ?? '', options, desk);
    if (wish === undefined) return await askUntilDone(room, options, desk, frame);
    const { acceptedReasons } = await import('../read-words.ts');
    return await recordOrAsk(wish, acceptedReasons(options), desk, frame);
  },
  text: async (report, look) =>
    (await import('../../render/text/render-round-record.ts')).renderRoundRecord(report, look),
  json: async (report, exitCode) =>
    (await import('../../render/json/round-documents.ts')).roundRecordDocument(report, exitCode),
});

interface RecordOptions {
  readonly build?: string | undefined;
  readonly failed?: string | undefined;
  readonly skipped?: string | undefined;
  readonly notYet?: true | undefined;
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
  readonly accept: readonly string[];
  readonly because: readonly string[];
}

const outcomeOptions = ['build', 'failed', 'skipped', 'notYet', 'approvedBy'] as const;

function checkWords(room: string | undefined, options: RecordOptions, frame: Frame): void {
  const outcomes = outcomeOptions.filter((name) => options[name] !== undefined);
  const others = [options.from, options.withdraw].filter((one) => one !== undefined);
  if (outcomes.length + others.length > 1) {
    throw new UsageError(
      'More than one outcome was given.',
      'Give one of --build, --failed, --skipped, --not-yet, --approved-by, --from, --withdraw; one command for each visit.',
    );
  }
  const empty = outcomes.find((name) => name !== 'notYet' && options[name]?.trim() === '');
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
  if (outcomes.length === 0 && !isAskable(frame)) {
    throw new UsageError(
      'No outcome was given, and nobody is here to ask: this is not a terminal, or --json was given.',
      'Give one of --build, --failed, --skipped, --not-yet, --approved-by, --from, --withdraw.',
    );
  }
}

/** Undefined where no outcome is given. */
async function wishOf(room: string, options: RecordOptions, desk: RoundDesk): Promise<VisitWish | undefined> {
  const { build, failed, skipped, approvedBy } = options;
  const base = {
    room,
    label: options.label,
    serial: options.serial,
    stick: options.stick,
    before: options.before,
    wiped: options.wiped ? true : options.notWiped ? false : undefined,
    note: options.note,
    at: await timeOf(options, desk),
    who: whoIs(options.who),
  };
  if (build !== undefined) return { ...base, outcome: { kind: 'done', build } };
  if (failed !== undefined) return { ...base, outcome: { kind: 'failed', text: failed } };
  if (options.notYet) return { ...base, outcome: { kind: 'not-yet', build: undefined } };
  if (skipped !== undefined) return { ...base, outcome: { kind: 'skipped', text: skipped } };
  return approvedBy === undefined ? undefined : { ...base, outcome: { kind: 'approved', by: approvedBy.trim() } };
}

async function timeOf({ at }: RecordOptions, desk: RoundDesk): Promise<string> {
  const { readTimeSaid } = await import('../../io/rounds/local-time.ts');
  const read = readTimeSaid(at, Date.parse(desk.now()));
  if ('problem' in read) throw new UsageError(read.problem, read.todo);
  return read.at;
}

async function withdraw(id: string, options: RecordOptions, desk: RoundDesk) {
  const [reason, ...others] = options.because;
  if (reason === undefined || others.length > 0 || reason.trim().length < 3 || options.accept.length > 0) {
    throw new UsageError(
      'A line is withdrawn with one reason.',
      `For example: stickwright round record --withdraw ${id} --because "wrong room"`,
    );
  }
  const { withdrawRecord } = await import('../../workflows/round-record.ts');
  return await withdrawRecord({ id, because: reason, at: await timeOf(options, desk), who: whoIs(options.who) }, desk);
}

async function takeList(path: string, options: RecordOptions, desk: RoundDesk) {
  const { parseTime } = await import('../../io/rounds/local-time.ts');
  const { readFilledList } = await import('../../io/rounds/filled-list.ts');
  const { recordList } = await import('../../workflows/round-record-list.ts');
  const nowMs = Date.parse(desk.now());
  const list = await readFilledList(path, desk.folder);
  const otherwise = { at: await timeOf(options, desk), who: whoIs(options.who) };
  return await recordList({ ...list, source: path, readTime: (text) => parseTime(text, nowMs), otherwise }, desk);
}

const justNow = 'record/failed-just-now';

/** The same failure twice within a minute counts only where somebody says that it was a second try. */
async function recordOrAsk(wish: VisitWish, accepted: ReadonlyMap<string, string>, desk: RoundDesk, frame: Frame) {
  const { recordVisit } = await import('../../workflows/round-record.ts');
  const report = await recordVisit(wish, accepted, desk);
  const canBeTwice = isAskable(frame) && report.findings.some(({ code }) => code === justNow);
  if (!canBeTwice || report.recorded.length > 0) return report;
  const { renderFindings } = await import('../../render/text/render-findings.ts');
  await frame.show(renderFindings(report.findings, frame.look));
  if (!(await confirmed('Was it really a second try?'))) return report;
  return await recordVisit(wish, new Map([...accepted, [justNow, 'a second try, as was said when asked']]), desk);
}

/** Room after room at a terminal, until nobody names another; the last answer that was not yes is the exit code. */
async function askUntilDone(room: string | undefined, options: RecordOptions, desk: RoundDesk, frame: Frame) {
  const { askVisit } = await import('./ask-visit.ts');
  let worst = 0;
  for (let next = room; ; next = undefined) {
    const asked = await askVisit(next, desk);
    if (asked === undefined) return worst;
    const wish = { ...asked, at: await timeOf(options, desk), who: whoIs(options.who) };
    const report = await recordOrAsk(wish, new Map(), desk, frame);
    const exitCode = await frame.answer(report);
    if (exitCode !== 0) worst = exitCode;
    if (room !== undefined && report.recorded.length > 0) return worst;
  }
}
