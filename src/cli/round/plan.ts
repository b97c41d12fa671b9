import { Option } from '@commander-js/extra-typings';
import { modes } from '../../core/model/mode.ts';
import { familiesFor, fileNamed, portsOfDesk, roundFolderFor, shelfFor } from '../desk.ts';
import { isAskable } from '../frame/agree.ts';
import { command } from '../frame/command.ts';
import { UsageError } from '../frame/exit-codes.ts';
import { collect, family, json, oneOf, shelf } from '../words.ts';

export const roundPlan = command({
  words: (it) =>
    it
      .description(
        'Reads a room list, finds for each room its package on the shelf and the way there, makes the fewest loads of it, and orders the sticks. Keeps the plan in the folder of the round.',
      )
      .argument('<list>', 'the room list: CSV or a spreadsheet')
      .addOption(
        new Option('-m, --mode <mode>', 'for rooms that the list asks no mode for; recovery WIPES')
          .choices(modes)
          .argParser(oneOf(modes))
          .default('in-os' as const),
      )
      .addOption(
        new Option(
          '--columns <field=heading>',
          'which heading means what; may be given several times, and is remembered',
        )
          .argParser(collect)
          .default([] as readonly string[], 'found by their headings'),
      )
      .option('--sheet <name>', 'sheet of a workbook (default: the first that is not hidden)')
      .option('--sticks <n>', 'how many sticks go round (default: one for each load)')
      .option('--minutes <n>', 'minutes at a panel (default: as the family file says, or what is usual)')
      .option('--prepare-minutes <n>', 'minutes to prepare a stick (default: by the size of the package)')
      .addOption(shelf())
      .addOption(family())
      .addOption(new Option('--round <dir>', 'folder of the round (default: STICKWRIGHT_ROUND, or beside the list)'))
      .option('-n, --dry-run', 'show the plan and keep nothing')
      .addOption(json()),
  examples: [
    'stickwright round plan rooms.csv',
    'stickwright round plan rooms.xlsx --columns "room=Raum,label=Typenschild" --sticks 4 --minutes 30',
    'stickwright round plan rooms.csv --mode recovery --dry-run',
  ],
  run: async (named, options, frame) => {
    if (named === '-' && options.round === undefined)
      throw new UsageError(
        'A list from standard input has no folder where the round could be kept.',
        'Say where: --round rooms.round.',
      );
    const list = await fileNamed(named);
    const wishes = {
      sticks: wholeNumber('--sticks', options.sticks, 1, 10_000),
      visitMinutes: wholeNumber('--minutes', options.minutes, 1, 1_440),
      setUpMinutes: wholeNumber('--prepare-minutes', options.prepareMinutes, 0, 1_440),
    };
    const { askColumns, parseNamedColumns } = await import('./columns.ts');
    const { columnMemoryFile, openColumnMemory } = await import('../../io/rooms/column-memory.ts');
    const { readTable } = await import('../../io/rooms/read-table.ts');
    const { readRoomList } = await import('../../workflows/read-room-list.ts');
    const { copyList } = await import('../../io/rounds/copy-list.ts');
    const { planRound } = await import('../../workflows/round-plan.ts');
    const columns = parseNamedColumns(options.columns);
    const { families } = await familiesFor(options.family);
    const { shelf: place } = await shelfFor(options.shelf);
    const { now, toolVersion } = await portsOfDesk();
    const request = {
      ...wishes,
      mode: options.mode,
      families,
      familyPaths: options.family,
      dryRun: options.dryRun === true,
    };
    const helps = {
      families,
      sheet: options.sheet,
      memory: await openColumnMemory(columnMemoryFile(process.env)),
      ask: isAskable(frame) ? askColumns : undefined,
    };
    return await planRound(request, {
      readList: () => readRoomList(list, columns, helps, readTable),
      listCopy: copyList,
      shelf: place,
      round: await roundFolderFor({ round: options.round, list }),
      now,
      toolVersion,
    });
  },
  text: async (report, look) => (await import('../../render/text/render-round-plan.ts')).renderRoundPlan(report, look),
  json: async (report, exitCode) =>
    (await import('../../render/json/round-documents.ts')).roundPlanDocument(report, exitCode),
});

function wholeNumber(option: string, text: string | undefined, least: number, most: number): number | undefined {
  if (text === undefined) return undefined;
  const number = /^\d{1,6}$/.test(text.trim()) ? Number(text) : Number.NaN;
  if (number >= least && number <= most) return number;
  throw new UsageError(`${option} ${text} is no such number.`, `Give a whole number from ${least} to ${most}.`);
}
