import { extname } from 'node:path';
import { Hono } from 'hono';
import * as z from 'zod';
import { exitCodeOf } from '../../core/model/exit-codes.ts';
import type { SaidOutcome } from '../../core/rounds/records/make-visit.ts';
import { inOwnFile } from '../../io/files/drafts.ts';
import { mostListBytes } from '../../io/rooms/read-table.ts';
import { readFilledList } from '../../io/rounds/filled-list.ts';
import { parseTime, readTimeSaid } from '../../io/rounds/local-time.ts';
import { roundLadderDocument, roundMergeDocument, roundRecordDocument } from '../../render/json/round-documents.ts';
import { recordVisit, withdrawRecord } from '../../workflows/round-record.ts';
import { recordList } from '../../workflows/round-record-list.ts';
import { ladderFor, mergeRounds } from '../../workflows/round-status.ts';
import type { DeskAtHand } from '../desk-at-hand.ts';
import { bodyOf, bytesOf, refusal } from './body.ts';

const words = z.string().trim().min(1).max(4_000);

const outcome: z.ZodType<SaidOutcome> = z.discriminatedUnion('kind', [
  z.object({ kind: z.literal('done'), build: words }),
  z.object({ kind: z.literal('failed'), text: words }),
  z.object({ kind: z.literal('skipped'), text: words }),
  z.object({ kind: z.literal('not-yet'), build: words.optional().transform((build) => build) }),
  z.object({ kind: z.literal('approved'), by: words }),
]) as z.ZodType<SaidOutcome>;

const visit = z.object({
  room: words,
  outcome,
  stick: words.optional(),
  note: words.optional(),
  at: words.optional(),
  /** As it stands on the panel, where a room has several. */
  label: words.optional(),
  serial: words.optional(),
  /** The build on the About page before. */
  before: words.optional(),
  /** Undefined: as the mode has it. */
  wiped: z.boolean().optional(),
  /** What was shown and is meant all the same, with the reason. */
  accepted: z.record(z.string().max(100), words).default({}),
});

/** What was done: noted room by room, taken from others, withdrawn; and the next step where one failed. */
export function roundRecordRoutes(desk: DeskAtHand): Hono {
  const changed = (): void => desk.tell({ event: 'changed', what: 'round' });
  const timeOf = (text: string | undefined, nowMs: number): string => {
    const read = readTimeSaid(text, nowMs);
    if ('problem' in read) throw refusal(409, [read.problem, read.todo].join(' '));
    return read.at;
  };
  return new Hono()
    .post('/', async (context) => {
      const { accepted, at, room, outcome, ...said } = await bodyOf(context, visit);
      const round = await desk.rounds.desk();
      const stamp = { at: timeOf(at, Date.parse(round.now())), who: desk.parts.who };
      const { stick, note, label, serial, before, wiped } = said;
      const wish = { room, outcome, stick, note, label, serial, before, wiped, ...stamp };
      const report = await recordVisit(wish, new Map(Object.entries(accepted)), round);
      if (report.recorded.length > 0) changed();
      return context.json(roundRecordDocument(report, exitCodeOf(report.verdict)));
    })
    .post('/withdraw', async (context) => {
      const { id, because } = await bodyOf(
        context,
        z.object({ id: words, because: z.string().trim().min(3).max(4_000) }),
      );
      const round = await desk.rounds.desk();
      const at = timeOf(undefined, Date.parse(round.now()));
      const report = await withdrawRecord({ id, because, at, who: desk.parts.who }, round);
      changed();
      return context.json(roundRecordDocument(report, exitCodeOf(report.verdict)));
    })
    .post('/room', async (context) => {
      const { said } = await bodyOf(context, z.object({ said: words }));
      const report = await ladderFor(said, { label: undefined, serial: undefined }, await desk.rounds.desk());
      return context.json(roundLadderDocument(report, exitCodeOf(report.verdict)));
    })
    .post('/merge', async (context) => {
      const name = (context.req.query('name') ?? '').split(/[\\/]/).at(-1) ?? '';
      const report = await inOwnFile(name, await bytesOf(context, mostListBytes), (path) => taken(desk, path, name));
      changed();
      return context.json(report);
    });
}

const listEndings = new Set(['.csv', '.tsv', '.xlsx']);

/** Records of others, or a list in which somebody filled in what was done. */
async function taken(desk: DeskAtHand, path: string, name: string) {
  const round = await desk.rounds.desk();
  if (!listEndings.has(extname(name).toLowerCase())) {
    // What is said of it names what was dropped, not where it lies for the moment.
    const report = await mergeRounds([name], { ...round.folder, merge: () => round.folder.merge(path) });
    return roundMergeDocument(report, exitCodeOf(report.verdict));
  }
  const nowMs = Date.parse(round.now());
  const read = readTimeSaid(undefined, nowMs);
  const otherwise = { at: 'at' in read ? read.at : '', who: desk.parts.who };
  const list = await readFilledList(path, round.folder);
  const request = { ...list, source: name, readTime: (text: string) => parseTime(text, nowMs), otherwise };
  const report = await recordList(request, round);
  return roundRecordDocument(report, exitCodeOf(report.verdict));
}
