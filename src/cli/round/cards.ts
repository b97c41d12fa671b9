import { join, resolve } from 'node:path';
import { Option } from '@commander-js/extra-typings';
import type { Round } from '../../core/model/round.ts';
import type { RoundCardsReport } from '../../core/report/round-reports.ts';
import type { RoundFolder } from '../../io/rounds/rounds.ts';
import { roundFolderFor } from '../desk.ts';
import { command } from '../frame/command.ts';
import { UsageError } from '../frame/exit-codes.ts';
import { collect, json, oneOf, round } from '../words.ts';

const paperSizes = ['a5', 'a6'] as const;

export const roundCards = command({
  words: (it) =>
    it
      .description(
        'Writes pages to print from the kept plan, in black and white: a card for each room that takes a stick or updates itself, a tag for each stick, and the round at a glance.',
      )
      .option('--out <dir>', 'where the files go (default: the folder print in the folder of the round)')
      .option('--pdf', 'also as PDF, printed by an installed browser (STICKWRIGHT_BROWSER names one)')
      .addOption(
        new Option('--paper <size>', 'of the room cards (default: STICKWRIGHT_PAPER, or a5)')
          .choices(paperSizes)
          .argParser(oneOf(paperSizes)),
      )
      .addOption(
        new Option('--room <room>', 'cards and tags for this room only; may be given several times')
          .argParser(collect)
          .default([] as readonly string[], 'all'),
      )
      .addOption(round())
      .addOption(json()),
  examples: [
    'stickwright round cards --pdf',
    'stickwright round cards --paper a6 --out cards',
    'stickwright round cards --room "Room 2.14" --room "Room 2.15"',
  ],
  run: async (options, frame): Promise<RoundCardsReport> => {
    const { verdictOf } = await import('../../core/findings/finding.ts');
    const { openPrintFolder } = await import('../../io/cards/print-folder.ts');
    const folder = await roundFolderFor(options);
    const plan = await planOf(folder);
    const only = options.room.length === 0 ? undefined : await keysOf(options.room, plan);
    const { records } = await folder.records();
    const paper = options.paper ?? (process.env.STICKWRIGHT_PAPER === 'a6' ? 'a6' : 'a5');
    const { renderRoundPages } = await import('../../render/html/render-round-pages.ts');
    const { files: pages, ...made } = renderRoundPages(plan, records, paper, only);
    const out = await openPrintFolder(options.out === undefined ? join(folder.place, 'print') : resolve(options.out));
    const files = pages.flatMap(({ name }) => [`${name}.html`, ...(options.pdf ? [`${name}.pdf`] : [])]);
    await out.expectOurs(files);
    const dropped: string[] = [];
    for (const { name, page } of pages) {
      await out.put(`${name}.html`, Buffer.from(page));
      if (await out.drop(`${name}.pdf`)) dropped.push(`${name}.pdf`);
    }
    if (options.pdf) {
      const { findBrowser, printPage } = await import('../../io/cards/print-page.ts');
      const { signal } = frame.atWork();
      const browser = findBrowser(process.env, process.platform);
      for (const { name } of pages)
        await out.put(`${name}.pdf`, await printPage(browser, join(out.place, `${name}.html`), signal));
    }
    return {
      command: 'round cards',
      verdict: verdictOf(made.findings),
      ...made,
      paper,
      place: out.place,
      files,
      dropped: options.pdf ? [] : dropped,
    };
  },
  text: async (report, look) =>
    (await import('../../render/text/render-round-prepare.ts')).renderRoundCards(report, look),
  json: async (report, exitCode) =>
    (await import('../../render/json/round-documents.ts')).roundCardsDocument(report, exitCode),
});

export async function planOf(folder: RoundFolder): Promise<Round> {
  const plan = await folder.plan();
  if (plan !== undefined) return plan;
  throw new UsageError(
    `There is no plan in ${folder.place} yet.`,
    'Plan the round first: stickwright round plan with the room list.',
  );
}

export async function keysOf(typed: readonly string[], { rooms }: Round): Promise<ReadonlySet<string>> {
  const { findRoom, roomInWords } = await import('../../core/rounds/records/find-room.ts');
  const keys = typed.map((words) => {
    const answer = findRoom(words, rooms, { label: undefined, serial: undefined });
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
