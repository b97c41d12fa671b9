import { join, resolve } from 'node:path';
import { verdictOf } from '../../core/findings/finding.ts';
import type { Round } from '../../core/model/round.ts';
import type { RoundRecord } from '../../core/model/round-record.ts';
import type { RoundCardsReport } from '../../core/report/round-reports.ts';
import { checkCards, makeCards } from '../../core/rounds/cards/make-cards.ts';
import { makeCover, makeTags } from '../../core/rounds/cards/make-cover.ts';
import { findRoom, roomInWords } from '../../core/rounds/records/find-room.ts';
import { openPrintFolder, type PrintFolder } from '../../io/cards/print-folder.ts';
import { findBrowser, printPage } from '../../io/cards/print-page.ts';
import type { RoundFolder } from '../../io/rounds/rounds.ts';
import { renderCards } from '../../render/html/render-cards.ts';
import { renderCover } from '../../render/html/render-cover.ts';
import { renderTags } from '../../render/html/render-tags.ts';
import { roundCardsDocument } from '../../render/json/round-documents.ts';
import { serialise } from '../../render/json/serialise.ts';
import { renderRoundCards } from '../../render/text/render-round-prepare.ts';
import { exitCodeOf } from '../exit-codes.ts';
import { watchInterruption } from '../interruption.ts';
import { roundFolderFor } from '../round-folder-for.ts';
import { lookOf, say } from '../screen.ts';
import { UsageError } from '../usage-error.ts';

export interface RoundCardsOptions {
  readonly out?: string | undefined;
  readonly pdf?: true | undefined;
  readonly paper: 'a5' | 'a6';
  readonly room: readonly string[];
  readonly round?: string | undefined;
  readonly json?: true | undefined;
}

export async function runRoundCards(options: RoundCardsOptions): Promise<number> {
  const folder = await roundFolderFor(options);
  const round = await planOf(folder);
  const only = options.room.length === 0 ? undefined : keysOf(options.room, round);
  const { records } = await folder.records();
  const { files: pages, ...made } = pagesOf(round, records, options.paper, only);
  const out = await openPrintFolder(options.out === undefined ? join(folder.place, 'print') : resolve(options.out));
  const names = pages.flatMap(({ name }) => [`${name}.html`, `${name}.pdf`]);
  await out.expectOurs(options.pdf ? names : names.filter((name) => name.endsWith('.html')));
  const dropped: string[] = [];
  for (const { name, page } of pages) {
    await out.put(`${name}.html`, Buffer.from(page));
    if (await out.drop(`${name}.pdf`)) dropped.push(`${name}.pdf`);
  }
  if (options.pdf)
    await printAll(
      out,
      pages.map(({ name }) => name),
    );
  const report: RoundCardsReport = {
    command: 'round cards',
    verdict: verdictOf(made.findings),
    ...made,
    paper: options.paper,
    place: out.place,
    files: options.pdf ? names : names.filter((name) => name.endsWith('.html')),
    dropped: options.pdf ? [] : dropped,
  };
  const exitCode = exitCodeOf(report.verdict);
  const look = lookOf(process.stdout, process.env);
  await say(options.json ? serialise(roundCardsDocument(report, exitCode)) : renderRoundCards(report, look));
  return exitCode;
}

async function planOf(folder: RoundFolder): Promise<Round> {
  const round = await folder.plan();
  if (round !== undefined) return round;
  throw new UsageError(
    `There is no plan in ${folder.place} yet.`,
    'Plan the round first: stickwright round plan with the room list.',
  );
}

function keysOf(typed: readonly string[], round: Round): ReadonlySet<string> {
  const keys = typed.map((words) => {
    const answer = findRoom(words, round.rooms, { label: undefined, serial: undefined });
    if (answer.state === 'one') return answer.room.key;
    const which = answer.state === 'several' ? answer.rooms : answer.near;
    throw new UsageError(
      answer.state === 'several' ? `Several rooms are meant by "${words}".` : `The round has no room "${words}".`,
      which.length === 0
        ? 'Look at the rooms with stickwright round status.'
        : `Say which one: ${which.slice(0, 8).map(roomInWords).join('; ')}.`,
    );
  });
  return new Set(keys);
}

/** The cover always shows the whole round. */
function pagesOf(
  round: Round,
  records: readonly RoundRecord[],
  paper: 'a5' | 'a6',
  only: ReadonlySet<string> | undefined,
) {
  const cards = makeCards(round, records, only);
  const tags = makeTags(round, records, only);
  const cover = makeCover(round, records);
  const rendered = renderCards(cards, cover.name, paper);
  return {
    files: [
      { name: 'cards', page: rendered.page },
      { name: 'tags', page: renderTags(tags, cover.name) },
      { name: 'cover', page: renderCover(cover) },
    ],
    cards: cards.length,
    tags: tags.length,
    findings: checkCards(cards, rendered.pages, cover.name),
    pages: rendered.pages.reduce((sum, count) => sum + count, 0),
    without: round.rooms
      .filter(({ key, state }) => only?.has(key) === true && state !== 'update')
      .map(({ key, state }) => ({ room: key, state })),
  };
}

async function printAll(out: PrintFolder, names: readonly string[]): Promise<void> {
  const interruption = watchInterruption(process.stderr);
  try {
    const browser = findBrowser(process.env, process.platform);
    for (const name of names) {
      const html = join(out.place, `${name}.html`);
      await out.put(`${name}.pdf`, await printPage(browser, html, interruption.signal));
    }
  } finally {
    interruption.end();
  }
}
