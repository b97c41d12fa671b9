import { type Command, Option } from '@commander-js/extra-typings';
import { collect, examples, exitCodesHelp, json } from './words.ts';

/** The words of `stickwright round cards`. */
export function addRoundCardsCommand(round: Command, done: (exitCode: number) => void): void {
  round
    .command('cards')
    .summary('print room cards, tags for the sticks, and a cover sheet')
    .description(
      'Writes pages to print from the kept plan, in black and white: a card for each room that takes a stick, a tag for each stick, and the round at a glance.',
    )
    .option('--out <dir>', 'where the files go (default: the folder print in the folder of the round)')
    .option('--pdf', 'also as PDF, printed by an installed browser (STICKWRIGHT_BROWSER names one)')
    .addOption(new Option('--paper <size>', 'of the room cards').choices(['a5', 'a6'] as const).default('a5' as const))
    .addOption(
      new Option('--room <room>', 'cards and tags for this room only; may be given several times')
        .argParser(collect)
        .default([] as readonly string[], 'all'),
    )
    .option('--round <dir>', 'folder of the round (default: STICKWRIGHT_ROUND, or the only *.round here)')
    .addOption(json())
    .addHelpText(
      'after',
      `\n${examples(
        'stickwright round cards --pdf',
        'stickwright round cards --paper a6 --out cards',
        'stickwright round cards --room "Room 2.14" --room "Room 2.15"',
      )}${exitCodesHelp}`,
    )
    .action(async (options) => done(await (await import('./commands/round-cards.ts')).runRoundCards(options)));
}
